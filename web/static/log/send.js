// Sends what waits, one after the other, and lets go of it only when the journal
// has answered that it holds it. The worker sends by it too, without a page.
import { ask } from "./api.js";
import { draft, drafts, newRigs, remove, update, updateRig } from "./db.js";
import { heldBy, meaning } from "./queue.js";
import { toSent } from "./sent.js";
import { key } from "./whose.js";

const patience = 20000; // ms until an answer is no longer waited for

/** One sender at a time, over all open pages. */
function alone(work) {
  return navigator.locks ? navigator.locks.request(`rigtally-send ${key}`, work) : work();
}

const ends = (result) => result === "no signal" || result === "signed out";

/**
 * Sends everything that is ready, rigs before the sessions fished with them.
 * @returns {Promise<"done"|"no signal"|"signed out">} why it came to an end
 */
export function sendAll() {
  return alone(async () => {
    for (const r of await newRigs()) {
      if (r.state !== "ready") continue;
      const result = await sendRig(r);
      if (ends(result)) return result;
    }
    for (const d of await drafts()) {
      if (d.state !== "ready") continue;
      const result = await send(d.id);
      if (ends(result)) return result;
    }
    return "done";
  });
}

/** Sends one by itself. @returns {Promise<"arrived"|"no signal"|"signed out"|"refused"|"conflict"|"held"|"gone">} */
export const sendOne = (id) => alone(() => send(id));

/** Sends a rig by itself. */
export const sendOneRig = (id) => alone(async () => {
  const r = (await newRigs()).find((x) => x.id === id);
  return r ? sendRig(r) : "gone";
});

/**
 * Sends a session that was just saved and leads on: to it, or to what waits.
 * @param {string[]} [read] what was read off the clock, for the session's page to say back
 */
export async function sendAndLeave(id, read = []) {
  let result = "no signal";
  try {
    if (navigator.onLine) result = await sendOne(id);
  } finally {
    location.href = result === "arrived" ? `/sessions/${id}?${new URLSearchParams([["done", "logged"], ...read.map((r) => ["read", r])])}` : "/waiting";
  }
}

/** Puts something into the journal. @returns its JSON and what the answer means */
async function store(path, body, holds) {
  try {
    const answer = await ask(path, { method: "PUT", headers: { "Content-Type": "application/json" }, body, signal: AbortSignal.timeout(patience) });
    const said = await answer.json();
    return answer.ok && !holds(said) ? { said, ...meaning(0) } : { said, ...meaning(answer.status, said) };
  } catch {
    return { said: null, ...meaning(0) };
  }
}

/** A conflict is one with a rig that has arrived before, and was changed in the journal since. */
async function sendRig(r) {
  const { result, state, problems } = await store(`/api/rigs/${r.id}`, JSON.stringify(r.rig), (said) => said.rig?.id === r.id);
  await updateRig(r.id, (now) => {
    if (JSON.stringify(now.rig) !== JSON.stringify(r.rig)) return false; // changed meanwhile, and to be sent again
    Object.assign(now, { state: result === "arrived" || result === "conflict" ? "arrived" : state, problems });
  });
  return result;
}

async function send(id) {
  const d = await draft(id);
  if (!d || (d.state !== "ready" && d.state !== "refused")) return "gone";
  let rig = heldBy(d, await newRigs());
  if (rig) {
    const result = rig.state === "ready" ? await sendRig(rig) : "held";
    if (ends(result)) return note(d, { result, ...meaning(result === "signed out" ? 401 : 0, { error: "signed-out" }) });
    rig = heldBy(d, await newRigs());
  }
  if (rig) return note(d, { result: "held", state: "ready", problems: [`It waits for its new rig, ${rig.rig.name}, which the journal did not accept.`] });
  const body = JSON.stringify(toSent(d));
  const { said, ...means } = await store(`/api/sessions/${id}`, body, (s) => s.session?.id === id);
  if (means.result !== "arrived") return note(d, means);
  let changed = false; // meanwhile: what was changed is the next version of what has arrived
  await update(id, (now) => {
    changed = JSON.stringify(toSent(now)) !== body;
    if (!changed) return false;
    now.version = said.session.version;
  });
  if (!changed) await remove(id);
  return "arrived";
}

/** Notes how a send went, unless the person has chosen something else meanwhile. */
async function note(sent, { result, state, problems, more }) {
  await update(sent.id, (d) => {
    if (d.state !== sent.state || d.version !== sent.version) return false;
    Object.assign(d, { state, problems, tried: Date.now() }, more);
  });
  return result;
}

// Sends what waits, one after the other, and lets go of it only when the journal
// has answered that it holds it.
import { draft, drafts, remove, update } from "./db.js";
import { toSent } from "./sent.js";

const patience = 20000; // ms until an answer is no longer waited for

/** One sender at a time, over all open pages. */
function alone(work) {
  return navigator.locks ? navigator.locks.request("rigtally-send", work) : work();
}

/** Sends everything that is ready. @returns {Promise<string[]>} ids that arrived */
export function sendAll() {
  return alone(async () => {
    const arrived = [];
    for (const d of await drafts()) {
      if (d.state !== "ready") continue;
      const result = await send(d.id);
      if (result === "arrived") arrived.push(d.id);
      if (result === "no signal") break;
    }
    return arrived;
  });
}

/** Sends one by itself. @returns {Promise<"arrived"|"no signal"|"refused"|"conflict"|"gone">} */
export const sendOne = (id) => alone(() => send(id));

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

async function send(id) {
  const d = await draft(id);
  if (!d || (d.state !== "ready" && d.state !== "refused")) return "gone";
  const body = JSON.stringify(toSent(d));
  let answer, said;
  try {
    answer = await fetch(`/api/sessions/${id}`, { method: "PUT", headers: { "Content-Type": "application/json" }, body, signal: AbortSignal.timeout(patience) });
    said = await answer.json();
  } catch {
    return note(d, "ready", ["No answer yet. It will be sent again as soon as there is signal."], "no signal");
  }
  if (answer.ok && said.session?.id === id) {
    let changed = false; // meanwhile: what was changed is the next version of what has arrived
    await update(id, (now) => {
      changed = JSON.stringify(toSent(now)) !== body;
      if (!changed) return false;
      now.version = said.session.version;
    });
    if (!changed) await remove(id);
    return "arrived";
  }
  const sentences = (said.problems ?? []).map((p) => p.says);
  if (answer.status === 409) return note(d, "conflict", sentences, "conflict", { stored: said.stored ?? null, deleted: Boolean(said.deleted) });
  // It is nowhere any more, and to be kept all the same: it can be sent as new.
  if (answer.status === 404) return note(d, "refused", sentences, "refused", { version: 0 });
  if (answer.status >= 500) return note(d, "ready", sentences, "no signal");
  if (said.error === "doubtful") return note(d, "refused", sentences, "refused", { doubtful: true });
  return note(d, "refused", sentences.length > 0 ? sentences : [`The journal did not accept it (${answer.status}).`], "refused");
}

/** Notes how a send went, unless the person has chosen something else meanwhile. */
async function note(sent, state, problems, result, more) {
  await update(sent.id, (d) => {
    if (d.state !== sent.state || d.version !== sent.version) return false;
    Object.assign(d, { state, problems, tried: Date.now() }, more);
  });
  return result;
}

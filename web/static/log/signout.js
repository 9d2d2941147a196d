// Before signing out: what has not been sent is not forgotten by accident.
import { drafts, fishing, isEmpty, newRigs, waiting } from "./db.js";
import { h } from "./dom.js";
import { sendAll } from "./send.js";
import { learn } from "./whose.js";

let sure = false;

for (const form of document.querySelectorAll('form[action="/sign-out"]')) {
  form.addEventListener("submit", async (e) => {
    if (sure) return;
    e.preventDefault();
    const left = await unsent().catch(() => ({ says: "" }));
    if (left.says) question(form, left);
    else leave(form);
  });
}

function leave(form) {
  sure = true;
  form.requestSubmit();
}

/** What is on this phone alone, in a sentence, "" for nothing; how much, and whether some of it can be sent as it is. */
async function unsent() {
  await learn();
  const list = await drafts(), rigs = (await newRigs()).filter((r) => waiting.includes(r.state)).length;
  const sessions = list.filter((d) => waiting.includes(d.state)).length, open = list.filter((d) => d.state === "open" && !isEmpty(d)).length;
  const parts = [];
  if (sessions > 0) parts.push(sessions === 1 ? "1 session waits to be sent." : `${sessions} sessions wait to be sent.`);
  if (rigs > 0) parts.push(rigs === 1 ? "1 new rig waits to be sent." : `${rigs} new rigs wait to be sent.`);
  if (open > 0) parts.push(`${open === 1 ? "1 session is" : `${open} sessions are`} ${list.some(fishing) ? "under way" : "not finished"}.`);
  return { says: parts.join(" "), count: sessions + rigs + open, sends: sessions + rigs > 0 };
}

function question(form, left) {
  const said = h("p", { className: "lead", role: "status" }, left.says);
  const button = (text, act, look = "") => h("button", { type: "button", className: look, onclick: act }, text);
  const one = left.count === 1;
  const first = button(one ? "Send it first" : "Send them first", async () => {
    first.disabled = true;
    await sendAll();
    const now = await unsent();
    if (!now.says) leave(form);
    said.textContent = now.sends ? `${now.says} It could not all be sent.` : now.says;
    first.disabled = false;
    first.hidden = !now.sends;
  }, "button-main button-wide");
  first.hidden = !left.sends;
  const dialog = h("dialog", { "aria-labelledby": "sign-out-title", onclose: () => dialog.remove() },
    h("h2", { id: "sign-out-title" }, "Sign out?"), said, h("p", {}, first),
    h("p", {}, button(one ? "Sign out, it stays on this phone for you" : "Sign out, they stay on this phone for you", () => leave(form), "button-wide")), h("p", {}, button("Stay signed in", () => dialog.close())));
  document.body.append(dialog);
  dialog.showModal();
}

// Counts of a session are put right in place: the page that answers gives its parts to this one.
import { h } from "./dom.js";

const form = () => document.getElementById("correct");
let turn = Promise.resolve();

async function send(action, body) {
  const answer = await fetch(action, { method: "POST", body });
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (!answer.redirected) { // what stands in the way is a page of its own
    document.querySelector("main").replaceWith(page.querySelector("main"));
    return;
  }
  const key = document.activeElement?.dataset.key, open = [...document.querySelectorAll("details[open][data-key]")].map((d) => d.dataset.key);
  for (const part of document.querySelectorAll("[data-part]")) {
    const fresh = page.querySelector(`[data-part="${part.dataset.part}"]`);
    if (fresh) part.replaceChildren(...fresh.childNodes);
  }
  const find = (k) => form().querySelector(`[data-key="${CSS.escape(k)}"]`);
  for (const k of open) if (find(k)) find(k).open = true;
  const again = key && find(key);
  if (again && !again.disabled) again.focus({ preventScroll: true });
  else if (key) find(key.replace(/^less /, ""))?.focus({ preventScroll: true });
}

form()?.addEventListener("submit", (e) => {
  e.preventDefault();
  const name = e.submitter.name, value = e.submitter.value;
  // One after the other, each with the version that the one before left.
  turn = turn.then(() => send(form().getAttribute("action"), new URLSearchParams([["for", form().elements.for.value], ["version", form().elements.version.value], [name, value]]))).catch(() => {
    form().querySelector(".corrected").replaceChildren(h("strong", {}, "Not saved: no answer. Try it again when there is signal."));
  });
});

// What a page says when something fails, so that no failure is silent: everywhere.js
// brings this to every page.
import { NotKept } from "./db.js";
import { h } from "./dom.js";

let shown;

function say(...words) {
  allWell();
  shown = h("p", { className: "trouble", role: "alert" }, ...words);
  (document.querySelector("dialog[open]") ?? document.body).append(shown); // what lies under an open dialog is not seen
}

/** Says that something failed. What nobody foresaw is reported as well. */
export function trouble(error) {
  if (error instanceof NotKept) say("This browser can’t save: no room, or private browsing. Change that and try again, or use ", h("a", { href: "/log" }, "the plain form"), ".");
  else reportError(error); // comes back as an error of the page
}

/** Takes back what was said, once the same has worked. */
export function allWell() { shown?.remove(); }

addEventListener("error", (e) => { if (e.error) say("Something on this page failed. Reload it; what was saved is still there."); });
addEventListener("unhandledrejection", (e) => { e.preventDefault(); trouble(e.reason); });

// A question is an address: to copy, to hand on from a phone, to print.
"use strict";

document.querySelectorAll(".hand-on").forEach((row) => {
  const told = row.querySelector("[role=status]");
  row.querySelector("[data-copy]").addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(window.location.href);
      told.textContent = "The link is copied.";
    } catch {
      told.textContent = "The link could not be copied; take it from the browser’s address bar.";
    }
  });
  row.querySelector("[data-print]").addEventListener("click", () => window.print());
  const share = row.querySelector("[data-share]");
  if (navigator.share && window.matchMedia("(pointer: coarse)").matches) {
    share.hidden = false;
    share.addEventListener("click", () => navigator.share({ title: document.title, url: window.location.href }).catch(() => {}));
  }
});

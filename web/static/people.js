// The link of an invitation: to copy, to hand on from a phone. Without script it is there to be selected.
"use strict";

const row = document.querySelector("[data-link]");
const link = document.getElementById("link");
const told = row.querySelector("[role=status]");
const copy = row.querySelector("[data-copy]");
const share = row.querySelector("[data-share]");

copy.hidden = false;
copy.addEventListener("click", async () => {
  try {
    await navigator.clipboard.writeText(link.value);
    told.textContent = "The link is copied.";
  } catch {
    link.select();
    told.textContent = "The link could not be copied; it is selected, so copy it by hand.";
  }
});
if (navigator.share && window.matchMedia("(pointer: coarse)").matches) {
  share.hidden = false;
  share.addEventListener("click", () => navigator.share({ url: link.value }).catch(() => {}));
}

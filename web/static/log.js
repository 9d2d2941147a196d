// Adds to the log form what it can do without: − and + beside each counter, and
// the flies of a rig as soon as it is chosen.
"use strict";

function step(input, by) {
  const now = Number.parseInt(input.value, 10);
  // Blank is not zero: less than blank is none, and less than none is blank again.
  const next = Number.isNaN(now) ? Math.max(0, by) : now + by;
  input.value = next < 0 ? "" : String(next);
  input.dispatchEvent(new Event("input", { bubbles: true }));
}

function stepButton(sign, what, input, by) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "step";
  button.textContent = sign;
  button.setAttribute("aria-label", `${by > 0 ? "One more" : "One less"}: ${what}`);
  button.addEventListener("click", () => step(input, by));
  return button;
}

for (const counter of document.querySelectorAll("[data-counter]")) {
  const input = counter.querySelector("input");
  const what = counter.querySelector("label").textContent;
  input.before(stepButton("−", what, input, -1));
  input.after(stepButton("+", what, input, 1));
  counter.classList.add("stepping");
}

for (const button of document.querySelectorAll("[data-refresh]")) {
  const rig = button.closest("fieldset").querySelector("select[name$='.rig']");
  button.hidden = true;
  rig.addEventListener("change", () => rig.form.requestSubmit(button));
}

const problems = document.querySelector(".problems");
if (problems) {
  problems.focus();
}

// Shows what a claim can compare as soon as its factor is chosen; without
// script there is a button for it.
"use strict";

const refresh = document.querySelector("[data-refresh]");
if (refresh) {
  const factor = document.getElementById("factor");
  refresh.hidden = true;
  factor.addEventListener("change", () => factor.form.requestSubmit(refresh.querySelector("button")));
}

const problems = document.querySelector(".problems");
if (problems) {
  problems.focus();
}

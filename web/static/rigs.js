// Draws the rig as it is typed. The server draws, as it does everywhere else;
// without script a button does the same. Adding a fly and filling in what is
// usual keep the place on the page.
"use strict";

const form = document.querySelector("form[data-rig]");
const pause = 150; // ms without a key before the next drawing
let timer = 0;
let running = null; // the request for the last drawing

function show(html) {
  const page = new DOMParser().parseFromString(html, "text/html");
  for (const part of page.querySelectorAll("[data-seen]")) {
    const here = form.querySelector(`[data-seen="${part.dataset.seen}"]`);
    if (here.innerHTML !== part.innerHTML) {
      here.replaceChildren(...part.childNodes);
    }
  }
  return page;
}

function body(extra) {
  const data = new URLSearchParams(new FormData(form));
  for (const [name, value] of Object.entries(extra)) {
    data.set(name, value);
  }
  return data;
}

// ask sends the form and resolves to the answer's text, or to null when another
// request took its place.
async function ask(url, extra) {
  running?.abort();
  running = new AbortController();
  const mine = running;
  try {
    const answer = await fetch(url, { method: "POST", body: body(extra), signal: mine.signal, redirect: "error" });
    if (!answer.ok) {
      throw new Error(`status ${answer.status}`);
    }
    return await answer.text();
  } catch (error) {
    if (mine.signal.aborted) {
      return null;
    }
    throw error;
  }
}

async function draw() {
  form.classList.add("drawing-late");
  try {
    const html = await ask("/rigs/draw", {});
    if (html === null) {
      return;
    }
    show(html);
    form.classList.remove("drawing-behind");
    button.hidden = true;
  } catch {
    form.classList.add("drawing-behind"); // the old drawing stays, with the button to try again
    button.hidden = false;
  }
  form.classList.remove("drawing-late");
}

// change asks for the whole form anew and puts its fields in place.
async function change(what) {
  clearTimeout(timer);
  const html = await ask(form.action, { do: what });
  if (html === null) {
    return;
  }
  const page = show(html);
  const focus = document.activeElement?.id;
  form.querySelector("[data-fields]").replaceChildren(...page.querySelector("[data-fields]").childNodes);
  const flies = form.querySelectorAll("fieldset[id]");
  if (what === "add") {
    flies[flies.length - 1].querySelector("input:not([type=hidden])").focus();
  } else if (what === "remove") {
    form.querySelector("button[value=add]")?.focus();
  } else if (focus) {
    document.getElementById(focus)?.focus();
  }
  ready();
}

// plainly sends the form as a page without script would.
function plainly(what) {
  const choice = document.createElement("input");
  choice.type = "hidden";
  choice.name = "do";
  choice.value = what;
  form.append(choice);
  form.submit();
}

function ready() {
  form.querySelector(".fill-usual").hidden = true;
}

const button = form?.querySelector(".draw-it");

if (form) {
  button.hidden = true;
  ready();
  form.addEventListener("input", (event) => {
    event.target.closest(".field")?.querySelector(".filled")?.remove();
    clearTimeout(timer);
    timer = setTimeout(draw, pause);
  });
  form.addEventListener("change", (event) => {
    if (event.target.name === "method") {
      change("usual").catch(draw);
    }
  });
  form.addEventListener("submit", (event) => {
    const what = event.submitter?.value;
    if (what === "draw" || what === "refresh") {
      event.preventDefault();
      draw();
    } else if (what === "add" || what === "remove" || what === "usual") {
      event.preventDefault();
      change(what).catch(() => plainly(what));
    }
  });
}

document.querySelector(".problems")?.focus();

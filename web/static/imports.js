// Sheets are dropped on the page, read again as soon as something is chosen, and the writing is shown as it goes.
// Without script there are a picker, a button, and a page that comes again.
"use strict";

const drop = document.querySelector("[data-drop]");
if (drop) {
  const input = drop.querySelector("input[type=file]");
  const over = (on) => drop.classList.toggle("drop-over", on);
  for (const kind of ["dragenter", "dragover"]) {
    document.addEventListener(kind, (e) => {
      if (![...(e.dataTransfer?.types ?? [])].includes("Files")) return;
      e.preventDefault();
      over(true);
    });
  }
  document.addEventListener("dragleave", (e) => { if (!e.relatedTarget) over(false); });
  document.addEventListener("drop", (e) => {
    over(false);
    if (!(e.dataTransfer?.files.length > 0)) return;
    e.preventDefault();
    input.files = e.dataTransfer.files;
    drop.requestSubmit();
  });
}

const read = document.querySelector("[data-read]");
if (read) {
  // What was chosen is kept in sight when the page comes again.
  const at = sessionStorage.getItem(location.pathname);
  if (at) {
    sessionStorage.removeItem(location.pathname);
    const [top, id] = JSON.parse(at);
    scrollTo(0, top);
    document.getElementById(id)?.focus({ preventScroll: true });
  }
  read.addEventListener("change", (e) => {
    if (!e.target.matches("select, input")) return;
    sessionStorage.setItem(location.pathname, JSON.stringify([scrollY, e.target.id]));
    read.requestSubmit(read.querySelector("button[value=read]"));
  });
}

const writing = document.querySelector("[data-writing]");
if (writing) {
  const look = async () => {
    try {
      const answer = await fetch(writing.dataset.writing);
      const page = new DOMParser().parseFromString(await answer.text(), "text/html"), now = page.querySelector("[data-writing]");
      if (!now) {
        location.reload();
        return;
      }
      writing.querySelector("progress").replaceWith(now.querySelector("progress"));
      for (const part of [".lead", "[role=status]"]) writing.querySelector(part).textContent = now.querySelector(part).textContent;
    } catch {
      // without signal it goes on all the same, and is asked about again
    }
    setTimeout(look, 700);
  };
  setTimeout(look, 400);
}

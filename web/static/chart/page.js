// Lets the marks of a page's drawings tell their numbers in a card: pointed at, tapped, or by the
// arrow keys. The drawings are whole without it; what a mark tells is its title.
import { neighbor, read, told } from "./steps.js";

// An element and not HTML text, which the page's content policy and names
// typed by people both speak against.
function card({ name, detail, href }) {
  const box = document.createElement("div");
  box.className = "chart-card";
  box.appendChild(document.createElement("strong")).textContent = name;
  const list = box.appendChild(document.createElement("dl"));
  for (const [term, value] of detail) {
    list.appendChild(document.createElement("dt")).textContent = term;
    list.appendChild(document.createElement("dd")).textContent = value;
  }
  if (href) {
    const link = box.appendChild(document.createElement("a"));
    link.href = href;
    link.textContent = "Only " + name;
  }
  return box;
}

function live(drawn) {
  const frame = drawn.parentElement;
  const stops = [...drawn.querySelectorAll(".told")].map((element) => {
    const title = element.querySelector("title");
    title.remove(); // the card takes its place
    const [x, y] = element.dataset.at.split(" ").map(Number);
    return { element, x, y, href: element.dataset.href, ...read(title.textContent) };
  });
  if (!stops.length) return;
  const status = frame.parentElement.appendChild(document.createElement("p"));
  status.className = "unseen";
  status.setAttribute("role", "status");
  let at, box, going, touched = false, keyed = false;

  const hide = () => { at?.element.classList.remove("at"); box?.remove(); at = box = undefined; };
  const show = (stop, place) => {
    clearTimeout(going);
    if (at === stop) return;
    hide();
    at = stop;
    at.element.classList.add("at");
    box = frame.appendChild(card(at));
    // Beside the mark, where the frame has room, and clear of the finger or pointer.
    const r = frame.getBoundingClientRect(), near = 14;
    const x = place.x - r.left, y = place.y - r.top;
    const left = x + near + box.offsetWidth <= r.width ? x + near : Math.max(0, x - near - box.offsetWidth);
    box.style.left = left + "px";
    box.style.top = (left > x || x > left + box.offsetWidth ? Math.max(0, y - box.offsetHeight / 2) : y + near) + "px";
  };
  const found = (target) => stops.find(({ element }) => element === target.closest?.(".told"));
  const leave = () => { clearTimeout(going); going = setTimeout(hide, 250); };

  frame.addEventListener("pointermove", (e) => {
    if (e.pointerType === "touch") return;
    if (e.target.closest(".chart-card")) return clearTimeout(going);
    const stop = found(e.target);
    if (stop) show(stop, { x: e.clientX, y: e.clientY });
    else if (at) leave();
  });
  frame.addEventListener("pointerleave", (e) => { if (e.pointerType !== "touch") leave(); });
  // A finger can't point without pressing: its tap shows the numbers, and the link among them
  // narrows. A mouse has seen them and clicks.
  drawn.addEventListener("pointerdown", (e) => { touched = e.pointerType === "touch"; keyed = false; });
  document.addEventListener("pointerdown", (e) => { if (!frame.contains(e.target)) hide(); });
  drawn.addEventListener("click", (e) => {
    const stop = found(e.target);
    if (!stop) return hide();
    if (touched) {
      show(stop, { x: e.clientX, y: e.clientY });
      box.scrollIntoView({ block: "nearest" });
    } else if (stop.href) {
      window.location.assign(stop.href);
    }
  });

  // Screen readers have the numbers in the table, which the label says.
  drawn.setAttribute("tabindex", "0");
  drawn.setAttribute("aria-label", drawn.getAttribute("aria-label") + " The arrow keys step through it.");
  const keys = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };
  drawn.addEventListener("keydown", (e) => {
    if (keys[e.key]) {
      e.preventDefault();
      keyed = true;
      const stop = stops[neighbor(stops, stops.indexOf(at), keys[e.key], drawn.classList.contains("drawn-cells"))];
      const r = stop.element.getBoundingClientRect();
      show(stop, { x: r.x + r.width / 2, y: r.y + r.height / 2 });
      status.textContent = told(stop);
    } else if (e.key === "Enter" && at?.href) {
      window.location.assign(at.href);
    } else if (e.key === "Escape") {
      hide();
    }
  });
  drawn.addEventListener("blur", (e) => { if (keyed && !box?.contains(e.relatedTarget)) hide(); });
}

document.querySelectorAll("figure.chart:not(.chart-unseen) .drawn[aria-label]").forEach(live);

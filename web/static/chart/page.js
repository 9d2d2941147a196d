// Makes the drawings of a page live: in their place the same figures by ECharts, that
// tell their numbers and lead on. Nothing moves, so there is no motion to reduce.
import { dress } from "./option.js";
import { neighbor, stopsOf, told } from "./steps.js";

const context = document.createElement("canvas").getContext("2d");

// An element and not HTML text, which the page's content policy and names
// typed by people both speak against.
function card(mark) {
  const box = document.createElement("div");
  box.className = "chart-card";
  box.appendChild(document.createElement("strong")).textContent = mark.name;
  const list = box.appendChild(document.createElement("dl"));
  for (const [term, value] of mark.detail) {
    list.appendChild(document.createElement("dt")).textContent = term;
    list.appendChild(document.createElement("dd")).textContent = value;
  }
  if (mark.href) {
    const link = box.appendChild(document.createElement("a"));
    link.href = mark.href;
    link.textContent = "Only " + mark.name;
  }
  return box;
}

const tooltip = (trigger) => ({
  trigger, confine: true, enterable: true, transitionDuration: 0, hideDelay: 200,
  backgroundColor: "var(--paper)", borderColor: "var(--ink)", borderWidth: 2, padding: 0, extraCssText: "border-radius:6px;box-shadow:none",
  axisPointer: { type: "line", lineStyle: { color: "var(--edge)" }, label: { show: false }, animation: false },
  formatter: (at) => { const { data } = [at].flat().find((p) => p.data?.detail) ?? {}; return data ? card(data) : ""; },
});

// Screen readers have the numbers in the table, which the label says.
function stepping(chart, figure, box, view) {
  const stops = stopsOf(chart.option);
  if (!stops.length) return;
  box.tabIndex = 0;
  box.setAttribute("aria-label", box.getAttribute("aria-label") + " The arrow keys step through it.");
  const status = figure.appendChild(document.createElement("p"));
  status.className = "unseen";
  status.setAttribute("role", "status");
  let at = -1;
  const show = (type) => at >= 0 && view.dispatchAction({ type, seriesIndex: stops[at].seriesIndex, dataIndex: stops[at].dataIndex });
  const leave = () => { show("downplay"); view.dispatchAction({ type: "hideTip" }); at = -1; };
  const keys = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };
  box.addEventListener("keydown", (e) => {
    if (keys[e.key]) {
      e.preventDefault();
      show("downplay");
      at = neighbor(stops, at, keys[e.key], chart.option.xAxis[0].type === "category");
      show("highlight");
      show("showTip");
      status.textContent = told(stops[at].mark);
    } else if (e.key === "Enter" && at >= 0 && stops[at].mark.href && e.target === box) {
      window.location.assign(stops[at].mark.href);
    } else if (e.key === "Escape") {
      leave();
    }
  });
  box.addEventListener("blur", leave);
}

function draw(figure) {
  const chart = JSON.parse(figure.querySelector(".chart-data").textContent);
  const frame = figure.querySelector(".chart-frame");
  const drawn = frame.querySelector(".drawn");
  const box = frame.appendChild(document.createElement("div"));
  box.className = "chart-box";
  box.setAttribute("role", "img");
  box.setAttribute("aria-label", drawn.getAttribute("aria-label"));
  const font = getComputedStyle(box).fontFamily;
  const fits = (text, fontSize) => { context.font = `600 ${fontSize}px ${font}`; return context.measureText(text).width; };
  const view = window.echarts.init(box, null, { renderer: "svg" });
  let width = 0;
  const paint = () => {
    if (!box.clientWidth || box.clientWidth === width) return;
    width = box.clientWidth;
    view.resize({ width: "auto", height: "auto" });
    view.setOption({ ...dress(chart, width, font, fits), tooltip: tooltip(chart.trigger) }, true);
  };
  paint();
  frame.classList.add("chart-live");
  new ResizeObserver(paint).observe(box);

  // A finger can't point without pressing: its first tap shows the numbers,
  // and the link among them narrows. A mouse has seen them and clicks.
  let touched = false;
  box.addEventListener("pointerdown", (e) => { touched = e.pointerType === "touch"; }, true);
  // The mouse that browsers make of a tap would land on the card, which is under the finger by then, and so hide it.
  box.addEventListener("touchend", (e) => { if (e.cancelable && !e.target.closest(".chart-card")) e.preventDefault(); }, { passive: false });
  view.on("click", (p) => {
    if (!touched && p.data?.href) window.location.assign(p.data.href);
  });
  stepping(chart, figure, box, view);
}

if (window.echarts) document.querySelectorAll("figure.chart:not(.chart-unseen)").forEach(draw);

// Keeps a page's drawings as pictures: whole, on white, with title, sentence, key
// and source, whatever scheme or size the page is shown in.
import { onPaper, wrap } from "./wrap.js";

const width = 960, edge = 40;
const ink = "#17201f", quiet = "#3f4a47";
const font = "Helvetica, Arial, Liberation Sans, DejaVu Sans, sans-serif"; // one of them is everywhere
const svgNS = "http://www.w3.org/2000/svg";

const element = (name, attributes, text) => {
  const e = document.createElementNS(svgNS, name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  if (text != null) e.textContent = text;
  return e;
};

const context = document.createElement("canvas").getContext("2d");
const wide = (size, weight) => (text) => { context.font = `${weight} ${size}px ${font}`; return context.measureText(text).width; };

const parsed = (text) => new DOMParser().parseFromString(onPaper(text), "image/svg+xml").documentElement;

// page puts one thing below the other and knows how far down it is.
function page() {
  const svg = element("svg", { width, "font-family": font });
  let down = edge - 8;
  const ground = svg.appendChild(element("rect", { width, fill: "#ffffff" }));
  return {
    text(words, size, weight, fill, gap) {
      for (const line of wrap(words, width - 2 * edge, wide(size, weight))) {
        down += Math.round(size * 1.35);
        svg.appendChild(element("text", { x: edge, y: down - Math.round(size * 0.3), "font-size": size, "font-weight": weight, fill }, line));
      }
      down += gap;
    },
    rule() {
      svg.appendChild(element("rect", { x: edge, y: down, width: width - 2 * edge, height: 2, fill: ink }));
      down += 14;
    },
    // A drawing keeps beside it the room that its style gives it in the page.
    put(drawn) {
      const part = parsed(new XMLSerializer().serializeToString(drawn));
      const [left, right] = drawn.dataset.beside.split(" ").map(Number);
      const height = Number(drawn.getAttribute("height"));
      for (const [name, value] of Object.entries({ x: edge + left, y: down, width: width - 2 * edge - left - right, overflow: "visible", "font-family": font })) part.setAttribute(name, value);
      svg.appendChild(part);
      down += height + 10;
    },
    // The key's entries stand beside each other while there is room.
    key(entries) {
      let right = edge;
      for (const entry of entries) {
        const each = 24 + wide(14, 400)(entry.textContent.trim());
        if (right > edge && right + each > width - edge) [right, down] = [edge, down + 24];
        const mark = svg.appendChild(parsed(new XMLSerializer().serializeToString(entry.querySelector("svg"))));
        mark.setAttribute("x", right);
        mark.setAttribute("y", down);
        svg.appendChild(element("text", { x: right + 24, y: down + 13, "font-size": 14, fill: ink }, entry.textContent.trim()));
        right += each + 20;
      }
      if (entries.length) down += 32;
    },
    end() {
      down += edge - 12;
      svg.setAttribute("height", down);
      svg.setAttribute("viewBox", `0 0 ${width} ${down}`);
      ground.setAttribute("height", down);
      return { svg, width, height: down };
    },
  };
}

function picture(figure) {
  const p = page();
  const title = figure.querySelector("figcaption").textContent;
  p.text(title, 24, 700, ink, 4);
  if (figure.dataset.says) p.text(figure.dataset.says, 16, 400, quiet, 8);
  p.rule();
  figure.querySelectorAll(".drawn:not(.drawn-tight)").forEach(p.put);
  p.key([...figure.querySelectorAll(".chart-key li")]);
  if (figure.dataset.source) p.text(figure.dataset.source, 13, 400, quiet, 0);
  const done = p.end();
  done.svg.prepend(element("title", {}, title));
  return { ...done, text: new XMLSerializer().serializeToString(done.svg) };
}

async function png(made) {
  const image = new Image();
  image.src = "data:image/svg+xml;charset=utf-8," + encodeURIComponent(made.text);
  await image.decode();
  const canvas = document.createElement("canvas");
  canvas.width = 2 * made.width;
  canvas.height = 2 * made.height;
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve, reject) => canvas.toBlob((blob) => blob ? resolve(blob) : reject(new Error("no picture")), "image/png"));
}

function hand(blob, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

async function keep(figure, form) {
  const status = figure.querySelector(".chart-kept");
  try {
    const made = picture(figure);
    hand(form === "png" ? await png(made) : new Blob([made.text], { type: "image/svg+xml" }), `${figure.dataset.file || "chart"}.${form}`);
    status.textContent = "Saved.";
  } catch (error) {
    status.textContent = "The picture could not be made.";
    console.error(error);
  }
}

document.querySelectorAll("figure.chart").forEach((figure) => {
  figure.querySelectorAll("[data-save]").forEach((button) => button.addEventListener("click", () => keep(figure, button.dataset.save)));
});

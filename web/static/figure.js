// Keeps a page's charts as pictures: whole, on white, with title, sentence, key
// and source, whatever scheme or size the page is shown in.
"use strict";

(() => {
  const width = 960, edge = 40;
  const font = "Helvetica, Arial, Liberation Sans, DejaVu Sans, sans-serif"; // one of them is everywhere
  const svgNS = "http://www.w3.org/2000/svg";

  const element = (name, attributes, text) => {
    const e = document.createElementNS(svgNS, name);
    for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
    if (text != null) e.textContent = text;
    return e;
  };

  const context = document.createElement("canvas").getContext("2d");

  // Lines no longer than the picture is wide.
  function wrap(text, size, weight, most) {
    context.font = `${weight} ${size}px ${font}`;
    const lines = [];
    for (const word of window.rigtally.broken(text.trim(), (part) => context.measureText(part).width <= most)) {
      const longer = lines.length ? lines.at(-1) + " " + word : word;
      if (lines.length && context.measureText(longer).width <= most) lines[lines.length - 1] = longer;
      else lines.push(word);
    }
    return lines;
  }

  // page puts one thing below the other and knows how far down it is.
  function page(theme) {
    const svg = element("svg", { width, "font-family": font });
    let down = edge - 8;
    const ground = svg.appendChild(element("rect", { width, fill: "#ffffff" }));
    return {
      text(words, size, weight, colour, gap) {
        for (const line of wrap(words, size, weight, width - 2 * edge)) {
          down += Math.round(size * 1.35);
          svg.appendChild(element("text", { x: edge, y: down - Math.round(size * 0.3), "font-size": size, "font-weight": weight, fill: colour }, line));
        }
        down += gap;
      },
      rule() {
        svg.appendChild(element("rect", { x: edge, y: down, width: width - 2 * edge, height: 2, fill: theme.ink }));
        down += 14;
      },
      put(part, height) {
        part.setAttribute("x", edge);
        part.setAttribute("y", down);
        svg.appendChild(part);
        down += height;
      },
      // The key's entries stand beside each other while there is room.
      key(entries) {
        let right = edge;
        context.font = `400 14px ${font}`;
        for (const entry of entries) {
          const wide = 24 + context.measureText(entry.text).width;
          if (right > edge && right + wide > width - edge) [right, down] = [edge, down + 24];
          const mark = svg.appendChild(element("g", { transform: `translate(${right + 8} ${down + 8})` }));
          window.rigtally.sign(entry.look, theme).forEach(([name, attributes]) => mark.appendChild(element(name, attributes)));
          svg.appendChild(element("text", { x: right + 24, y: down + 13, "font-size": 14, fill: theme.ink }, entry.text));
          right += wide + 20;
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

  // Looks under the pointer mean nothing in a picture. Programs that draw SVG know less than browsers: a font in one word, and text
  // placed by its middle, are written out.
  // Styles are set aside before parsing, since the page's policy refuses them.
  function simple(text) {
    text = text.replace(/<style[^>]*>[^]*?<\/style>/g, "").replaceAll(" style=\"", " data-style=\"").replace(/ (class|pointer-events)="[^"]*"/g, "");
    const svg = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    const style = document.createElement("span").style;
    svg.querySelectorAll("[data-style]").forEach((e) => {
      style.cssText = e.dataset.style;
      for (const name of ["font-size", "font-weight", "font-family", "font-style"]) {
        const value = style.getPropertyValue(name);
        if (value && value !== "normal") e.setAttribute(name, value);
      }
      e.removeAttribute("data-style");
    });
    svg.querySelectorAll('[dominant-baseline="central"]').forEach((e) => {
      e.removeAttribute("dominant-baseline");
      e.setAttribute("dy", "0.35em");
    });
    return svg;
  }

  function picture(figure) {
    const chart = window.rigtally.read(figure);
    const theme = window.rigtally.onPaper(figure, font);
    const p = page(theme);
    const title = figure.querySelector("figcaption").textContent;
    p.text(title, 24, 700, theme.ink, 4);
    if (figure.dataset.says) p.text(figure.dataset.says, 16, 400, theme.quiet, 8);
    p.rule();
    p.put(simple(window.rigtally.drawn(chart, theme, width - 2 * edge)), chart.height + 10);
    p.key([...figure.querySelectorAll(".chart-key li")].map((li) => ({ look: li.querySelector(".look").className.replace(/^.*?look-/, ""), text: li.textContent.trim() })));
    if (figure.dataset.source) p.text(figure.dataset.source, 13, 400, theme.quiet, 0);
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

  // A page that draws its own brings the library only when a picture is wanted.
  function library(address) {
    if (window.echarts) return Promise.resolve();
    return new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = address;
      script.onload = resolve;
      script.onerror = () => reject(new Error("the chart library did not come"));
      document.head.appendChild(script);
    });
  }

  async function keep(figure, form) {
    const status = figure.querySelector(".chart-kept");
    try {
      await library(figure.dataset.library);
      const made = picture(figure);
      const blob = form === "png" ? await png(made) : new Blob([made.text], { type: "image/svg+xml" });
      hand(blob, `${figure.dataset.file || "chart"}.${form}`);
      status.textContent = "Saved.";
    } catch (error) {
      status.textContent = "The picture could not be made.";
      console.error(error);
    }
  }

  document.querySelectorAll("figure.chart").forEach((figure) => {
    figure.querySelectorAll("[data-save]").forEach((button) => button.addEventListener("click", () => keep(figure, button.dataset.save)));
  });
})();

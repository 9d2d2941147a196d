// Draws the charts of a page. What to draw comes from Go as JSON (package
// charts); here are the shapes, and the colours taken from the page's style.
// Nothing moves, so there is no motion to reduce.
"use strict";

(() => {
  const size = { text: 14, small: 12.5, name: 15 };

  const theme = (element) => colours(getComputedStyle(element), getComputedStyle(element).fontFamily);

  // On paper the light scheme holds, and paper is white.
  function onPaper(element, font) {
    const light = document.createElement("span").style;
    for (const sheet of document.styleSheets) {
      for (const rule of sheet.cssRules) {
        if (rule.selectorText === ":root" && !sheet.media.mediaText.includes("print")) {
          for (const name of rule.style) if (name.startsWith("--")) light.setProperty(name, rule.style.getPropertyValue(name));
        }
      }
    }
    light.setProperty("--paper", "#ffffff");
    return colours(light, font || getComputedStyle(element).fontFamily);
  }

  function colours(style, font) {
    const colour = (name) => style.getPropertyValue(name).trim();
    return {
      font,
      paper: colour("--paper"), sheet: colour("--sheet"), ink: colour("--ink"), quiet: colour("--quiet"),
      rule: colour("--rule"), edge: colour("--edge"), accent: colour("--data-1"), calm: colour("--data-2"), third: colour("--data-3"), fourth: colour("--data-4"),
      heat: [1, 2, 3, 4, 5].map((i) => colour("--heat-" + i)), none: colour("--heat-none"),
    };
  }

  // What each look of a mark means stands in the key below the chart, with the
  // same forms: see findings.css.
  function looks(t) {
    return {
      alone: { form: "circle", fill: t.calm, line: t.calm, bar: t.calm },
      reference: { form: "diamond", fill: t.ink, line: t.ink, bar: t.ink },
      differs: { form: "circle", fill: t.accent, line: t.accent, bar: t.accent },
      leans: { form: "circle", fill: t.paper, line: t.accent, bar: t.accent },
      same: { form: "square", fill: t.edge, line: t.edge, bar: t.edge },
      against: { form: "square", fill: t.calm, line: t.calm, bar: t.calm },
      "leans-against": { form: "square", fill: t.paper, line: t.calm, bar: t.calm },
      open: { form: "circle", fill: t.paper, line: t.edge, bar: t.edge },
    };
  }

  function symbol(look, x, y, r) {
    const style = { fill: look.fill, stroke: look.line, lineWidth: 2.5 };
    const z2 = 5;
    switch (look.form) {
      case "diamond":
        return { type: "polygon", z2, style, shape: { points: [[x, y - r - 1], [x + r + 1, y], [x, y + r + 1], [x - r - 1, y]] } };
      case "square":
        return { type: "rect", z2, style, shape: { x: x - r * 0.85, y: y - r * 0.85, width: r * 1.7, height: r * 1.7 } };
    }
    return { type: "circle", z2, style, shape: { cx: x, cy: y, r } };
  }

  // A pull that slipped is a cross, one that would have borne more points on.
  const crossed = {
    cross: (x, y, r) => ({ path: `M${x - r} ${y - r}L${x + r} ${y + r}M${x - r} ${y + r}L${x + r} ${y - r}` }),
    beyond: (x, y, r) => ({ path: `M${x - r} ${y - r}L${x + r} ${y}L${x - r} ${y + r}z` }),
  };

  // The signs of the key, as elements of SVG around 0, 0.
  function sign(name, t) {
    if (crossed[name]) return [["path", { d: crossed[name](0, 0, 5.5).path, stroke: t.calm, fill: "none", "stroke-width": 2 }]];
    if (name === "plain") return [["circle", { r: 4.5, fill: "none", stroke: t.quiet, "stroke-width": 1.5 }]];
    const [kind, tone] = name.split("-");
    const colour = toned({ tone: Number(tone) }, t, t.accent);
    switch (tone || name === "band" ? kind : "") {
      case "line":
        return [["path", { d: "M-7 0H7", stroke: colour, "stroke-width": 3 }]];
      case "dash":
        return [["path", { d: "M-7 0h5m4 0h5", stroke: colour, "stroke-width": 2.5 }]];
      case "dot":
        return [["circle", { r: 6, fill: colour }]];
      case "band":
        return [["rect", { x: -7, y: -5, width: 14, height: 10, fill: t.accent, opacity: 0.22 }]];
    }
    const look = looks(t)[name] || looks(t).alone;
    const ink = { fill: look.fill, stroke: look.line, "stroke-width": 2.5 };
    switch (look.form) {
      case "diamond":
        return [["path", { d: "M0-7 7 0 0 7-7 0z", ...ink }]];
      case "square":
        return [["rect", { x: -5.5, y: -5.5, width: 11, height: 11, ...ink }]];
    }
    return [["circle", { r: 6, ...ink }]];
  }

  const words = (t, text, x, y, more) => ({
    type: "text", silent: true, z2: 6,
    style: { text, x, y, fill: t.ink, font: `600 ${size.text}px ${t.font}`, align: "center", verticalAlign: "bottom", stroke: t.paper, lineWidth: 3, ...more },
  });

  // The ground of a mark takes the pointer, so that a thumb finds it. It shows
  // itself under the pointer, except below the labels, which it would hide.
  const ground = (t, x, y, width, height) => ({
    type: "rect", z2: 0, shape: { x, y, width, height }, style: { fill: "transparent" }, emphasis: { style: { fill: t.sheet } },
  });
  const underLabel = (y, width, height) => ({ type: "rect", z2: 0, shape: { x: 0, y, width, height }, style: { fill: "transparent" } });

  // An interval that is longer than the axis ends in an arrow.
  const arrow = (points, fill) => ({ type: "polygon", z2: 4, silent: true, shape: { points }, style: { fill } });

  const toned = (mark, t, otherwise) => [otherwise, t.accent, t.calm, t.third, t.fourth][mark.tone || 0];

  // Colours as numbers: to mix them, and to write on them.
  const channels = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
  const hex = (rgb) => "#" + rgb.map((v) => Math.round(v).toString(16).padStart(2, "0")).join("");
  const mix = (a, b, part) => hex(channels(a).map((v, i) => v + (channels(b)[i] - v) * part));

  function luminance(colour) {
    const [r, g, b] = channels(colour).map((v) => v / 255).map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  }

  const contrast = (a, b) => { const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
  const legible = (t, on) => [t.ink, t.paper].sort((a, b) => contrast(b, on) - contrast(a, on))[0];

  const faded = [0, 0.4, 0.72, 0.93]; // how much of the neutral colour is mixed in

  function heat(t, at, fade) {
    const place = between(at, 0, 1) * (t.heat.length - 1);
    const i = Math.min(Math.floor(place), t.heat.length - 2);
    return mix(mix(t.heat[i], t.heat[i + 1], place - i), t.none, faded[fade || 0]);
  }

  const between = (v, low, high) => Math.min(Math.max(v, low), high);

  const shapes = {
    interval(mark, area, api, t) {
      const [rate, row, low, high, radius, plain] = mark.value;
      const look = looks(t)[mark.look];
      const [x, y] = api.coord([rate, row]);
      const height = api.size([0, 1])[1];
      const tight = height < 40;
      const right = area.x + area.width;
      let end = x;
      const children = [underLabel(y - height / 2, area.x, height), ground(t, area.x, y - height / 2, (area.right || area.x + area.width + 12) - area.x, height)];
      if (low != null) {
        const from = Math.max(api.coord([low, row])[0], area.x);
        end = high == null ? Infinity : api.coord([high, row])[0];
        const to = Math.min(end, right);
        children.push({ type: "rect", z2: 3, shape: { x: from, y: y - 1.5, width: Math.max(to - from, 1), height: 3 }, style: { fill: look.bar } });
        if (end > right) children.push(arrow([[right, y - 6], [right + 9, y], [right, y + 6]], look.bar));
      }
      if (plain != null) {
        const at = between(api.coord([plain, row])[0], area.x, right);
        children.push({ type: "circle", z2: 4, shape: { cx: at, cy: tight ? y : y + 11, r: tight ? 3 : 4 }, style: { fill: "transparent", stroke: t.quiet, lineWidth: 1.5 } });
      }
      if (mark.share != null) {
        const bar = right + 26, widest = area.right - bar;
        children.push({ type: "rect", z2: 3, silent: true, shape: tight ? { x: bar + 62, y: y - 3, width: Math.max((widest - 62) * mark.share, 1.5), height: 6 } : { x: bar, y: y + 2, width: Math.max(widest * mark.share, 1.5), height: 7 }, style: { fill: t.edge } });
        children.push(words(t, mark.note, bar, tight ? y + 7 : y - 1, { align: "left", font: `${size.small}px ${t.font}`, fill: t.quiet }));
      }
      children.push(symbol(look, x, y, tight ? Math.min(radius, 6) : radius));
      if (tight) children.push(words(t, mark.label, Math.min(Math.max(end, x + 8), right - 34) + 4, y + 7, { align: "left", font: `600 12px ${t.font}` }));
      else children.push(words(t, mark.label, between(x, area.x + 12, right - 12), y - Math.max(radius, 4) - 3));
      return { type: "group", children };
    },

    // Of a row of pulls the mean lies low, and the pulls stand in piles above it.
    mean(mark, area, api, t) {
      const [value, row, low, high, radius] = mark.value;
      const look = looks(t)[mark.look];
      const height = api.size([0, 1])[1];
      const [x, middle] = api.coord([value, row]);
      const y = middle + height / 2 - 17;
      const children = [underLabel(middle - height / 2, area.x, height), ground(t, area.x, y - 12, area.width + 12, 26)];
      if (low != null) {
        const from = between(api.coord([low, row])[0], area.x, area.x + area.width), to = between(api.coord([high, row])[0], area.x, area.x + area.width);
        children.push({ type: "rect", z2: 3, shape: { x: from, y: y - 1.5, width: Math.max(to - from, 1), height: 3 }, style: { fill: look.bar } });
        children.push(words(t, mark.label, to + 8, y + 8, { align: "left" }));
      }
      children.push(symbol(look, x, y, radius));
      return { type: "group", children };
    },

    pull(mark, area, api, t) {
      const [value, row, below] = mark.value;
      const [x, middle] = api.coord([value, row]);
      const y = middle + api.size([0, 1])[1] / 2 - 38 - 9 * Math.min(below, 3);
      const colour = toned(mark, t, t.calm);
      const form = crossed[mark.look]
        ? { type: "path", z2: 5, shape: { pathData: crossed[mark.look](0, 0, 4.5).path }, x, y, style: { fill: "none", stroke: colour, lineWidth: 2 } }
        : { type: "circle", z2: 5, shape: { cx: x, cy: y, r: 4 }, style: { fill: colour, stroke: t.paper, lineWidth: 1 } };
      return { type: "group", children: [{ type: "circle", z2: 4, shape: { cx: x, cy: y, r: 7 }, style: { fill: "transparent" }, emphasis: { style: { stroke: t.ink, lineWidth: 2 } } }, form] };
    },

    // Two intervals crossed, one of each axis.
    cross(mark, area, api, t, _, chart) {
      const [vx, vy, left, right, low, high] = mark.value;
      const [x, y] = api.coord([vx, vy]);
      const colour = toned(mark, t, t.accent);
      const style = { stroke: colour, lineWidth: 2 };
      const children = [{ type: "circle", z2: 0, shape: { cx: x, cy: y, r: 16 }, style: { fill: "transparent" }, emphasis: { style: { fill: t.sheet } } }];
      const line = (x1, y1, x2, y2) => children.push({ type: "line", z2: 3, silent: true, shape: { x1, y1, x2, y2 }, style });
      if (left != null) line(between(api.coord([left, vy])[0], area.x, area.x + area.width), y, between(api.coord([right, vy])[0], area.x, area.x + area.width), y);
      if (low != null) line(x, between(api.coord([vx, low])[1], area.y, area.y + area.height), x, between(api.coord([vx, high])[1], area.y, area.y + area.height));
      children.push({ type: "circle", z2: 7, shape: { cx: x, cy: y, r: 6 }, style: { fill: colour, stroke: t.paper, lineWidth: 1.5 } });
      // The name stands where no other mark is, and within the chart.
      const wide = fits(mark.label, size.text, 600, t) + 9;
      const others = chart.option.series[0].data.filter((m) => m.name !== mark.name).map((m) => api.coord(m.value.slice(0, 2)));
      const room = (side, down) => {
        const [from, to] = side > 0 ? [x, x + wide] : [x - wide, x];
        const [top, base] = down ? [y, y + 26] : [y - 26, y];
        return from >= area.x - 40 && to <= area.x + area.width + 8 && !others.some(([ox, oy]) => ox > from - 8 && ox < to + 8 && oy > top - 8 && oy < base + 8);
      };
      const [side, down] = [[1, false], [-1, false], [1, true], [-1, true]].find(([s, d]) => room(s, d)) || [x < area.x + area.width / 2 ? 1 : -1, false];
      children.push(words(t, mark.label, x + 9 * side, down ? y + 22 : y - 5, { align: side > 0 ? "left" : "right" }));
      return { type: "group", children };
    },

    point(mark, area, api, t) {
      const x = api.coord([mark.value[0], 0])[0];
      return standing(mark, area, api, t, x - 1.5, x + 1.5, false);
    },

    band(mark, area, api, t) {
      return standing(mark, area, api, t, api.coord([mark.value[5], 0])[0] + 1, api.coord([mark.value[6], 0])[0] - 1, true);
    },

    bars(mark, area, api, t) {
      const [, height, from, to] = mark.value;
      const [left, top] = api.coord([from, height]);
      const [right, base] = api.coord([to, 0]);
      const width = Math.max(right - left - 2, 4);
      const middle = (left + right) / 2;
      const children = [
        ground(t, middle - width / 2 - 1, area.y, width + 2, area.height),
        { type: "rect", z2: 3, shape: { x: middle - width / 2, y: top, width, height: base - top }, style: { fill: toned(mark, t, t.edge) } },
      ];
      if (mark.label && width >= 8 * mark.label.length) children.push(words(t, mark.label, middle, top - 2, { font: `${size.small}px ${t.font}` }));
      return { type: "group", children };
    },

    // A curve in its band. What reaches beyond the axis is cut.
    curve(mark, area, api, t) {
      const at = (x, v) => { const p = api.coord([x, v]); return [p[0], between(p[1], area.y, area.y + area.height)]; };
      const banded = mark.points.filter((p) => p[2] != null && p[3] != null);
      const band = banded.map((p) => at(p[0], p[3])).concat(banded.toReversed().map((p) => at(p[0], p[2])));
      return { type: "group", silent: true, children: [
        { type: "polygon", z2: 2, shape: { points: band }, style: { fill: t.accent, opacity: 0.22 } },
        { type: "polyline", z2: 3, shape: { points: mark.points.map((p) => at(p[0], p[1])) }, style: { fill: "none", stroke: t.accent, lineWidth: 3 } },
      ] };
    },

    line(mark, area, api, t) {
      const points = [];
      for (const [x, y] of mark.points) {
        const at = api.coord([x, y]);
        if (mark.step && points.length) points.push([at[0], points.at(-1)[1]]);
        points.push(at);
      }
      const colour = toned(mark, t, t.ink);
      const children = [{ type: "polyline", z2: 3, shape: { points }, style: { fill: "none", stroke: colour, lineWidth: mark.dash ? 2 : 2.5, lineDash: mark.dash ? [6, 4] : null } }];
      if (mark.label) {
        const [x, y] = api.coord(mark.value);
        const right = x > area.x + area.width * 0.7;
        children.push(words(t, mark.label, x + (right ? -4 : 4), y - 4, { align: right ? "right" : "left", fill: colour, font: `600 ${size.small}px ${t.font}` }));
      }
      return { type: "group", silent: true, children };
    },

    // A line in steps within its band, as survival is drawn. A missing end leaves the band open.
    steps(mark, area, api, t) {
      const stepped = (at) => {
        const points = [];
        for (const p of mark.points) {
          if (p[at] == null) continue;
          const [x, y] = api.coord([p[0], p[at]]);
          if (points.length) points.push([x, points.at(-1)[1]]);
          points.push([x, between(y, area.y, area.y + area.height)]);
        }
        return points;
      };
      const colour = toned(mark, t, t.ink);
      return { type: "group", silent: true, children: [
        { type: "polygon", z2: 2, shape: { points: stepped(3).concat(stepped(2).toReversed()) }, style: { fill: colour, opacity: 0.13 } },
        { type: "polyline", z2: 3, shape: { points: stepped(1) }, style: { fill: "none", stroke: colour, lineWidth: 2.5, lineDash: mark.dash ? [7, 4] : null } },
      ] };
    },

    // A word at a place, or from the left edge on.
    word(mark, area, api, t) {
      const [x, y] = api.coord(mark.value);
      const first = x <= area.x + 1;
      return { type: "group", silent: true, children: [words(t, mark.label, first && mark.look === "start" ? 4 : x, y, { align: first && mark.look === "start" ? "left" : "center", verticalAlign: "middle", fill: mark.tone ? toned(mark, t, t.ink) : t.ink, font: `${mark.tone ? 600 : 400} ${size.small}px ${t.font}` })] };
    },

    dots(mark, area, api, t) {
      const [vx, vy, radius] = mark.value;
      const [x, y] = api.coord([vx, vy]);
      const r = radius ?? 5;
      const colour = toned(mark, t, t.calm);
      const look = mark.look ? looks(t)[mark.look] : { form: "circle", fill: mark.dash ? t.paper : colour, line: colour };
      const children = [{ type: "circle", z2: 0, shape: { cx: x, cy: y, r: Math.max(r, 12) }, style: { fill: "transparent" }, emphasis: { style: { fill: t.sheet } } }, symbol(look, x, y, r)];
      if (mark.label) children.push(words(t, mark.label, x, y - r - 3));
      return { type: "group", children };
    },

    // What the column beside the rows is: the exposure behind each mark.
    behind(mark, area, api, t, _, chart) {
      return { type: "group", silent: true, children: [words(t, chart.behind, area.x + area.width + 26, area.y - 6, { align: "left", font: `${size.small}px ${t.font}`, fill: t.quiet })] };
    },

    // A cell says its number where there is room, and its exposure below.
    cell(mark, area, api, t, _, chart) {
      const [x, y] = api.coord(mark.value);
      const width = area.width / chart.columns.length, height = area.height / chart.rows.length;
      const [left, top, wide, high] = [x - width / 2 + 1, y - height / 2 + 1, width - 2, height - 2];
      const fill = mark.heat == null ? t.paper : heat(t, mark.heat, mark.fade);
      const ink = legible(t, fill);
      const children = [
        { type: "rect", z2: 2, shape: { x: left, y: top, width: wide, height: high }, style: { fill, stroke: mark.heat == null ? t.rule : fill, lineWidth: 1 }, emphasis: { style: { stroke: t.ink, lineWidth: 3 } } },
        { type: "rect", z2: 3, silent: true, shape: { x: left + 4, y: top + high - 6, width: Math.max((wide - 8) * mark.share, 1.5), height: 3 }, style: { fill: ink, opacity: 0.65 } },
      ];
      const put = (text, down, fontSize, weight) => { if (text && fits(text, fontSize, weight, t) <= wide - 2) children.push(words(t, text, x, top + down, { fill: ink, stroke: null, font: `${weight} ${fontSize}px ${t.font}` })); };
      const tight = high < 42; // no room for two lines
      const weight = mark.fade >= 2 ? 400 : 700, short = mark.label.replace(/^0\./, ".");
      const [label, fontSize] = [[mark.label, size.text], [mark.label, 12], [short, 12], [short, 11]].find(([text, px]) => fits(text, px, weight, t) <= wide - 2) || ["", 11];
      put(label, tight ? high / 2 + 6 : 24, fontSize, weight);
      if (!tight) put(mark.note, 39, 11.5, 400);
      if (["reference", "differs", "leans"].includes(mark.look)) {
        const sign = symbol({ ...looks(t)[mark.look], line: ink, fill: mark.look === "leans" ? fill : ink }, left + wide - 7, top + 7, 3);
        sign.style.lineWidth = 1.5;
        children.push({ ...sign, silent: true });
      }
      return { type: "group", children };
    },

    // The legend of a heat map: colours to the right, fading downward.
    scale(mark, area, api, t, _, chart) {
      const s = chart.scale, step = 14, steps = 24;
      const small = `${size.small}px ${t.font}`;
      const total = area.x + area.width;
      const put = (text, x, y, align, more) => words(t, text, x, y, { align, font: small, fill: t.quiet, ...more });
      const children = [
        put(s.right, area.x, 16, "left", { font: `600 ${small}` }),
        put(s.down, area.x - 14, area.y - 6, "right", { font: `600 ${small}` }),
      ];
      const said = Math.max(...s.fades.map((text) => fits(text, size.small, 400, t)));
      const wide = Math.min(360, total - said - 16);
      const x0 = 8, top = area.y + area.height + 38;
      children.push(put(s.title, x0, top - 6, "left", { font: `600 ${small}`, fill: t.ink }));
      s.fades.forEach((text, fade) => {
        for (let i = 0; i < steps; i++) {
          children.push({ type: "rect", z2: 2, shape: { x: x0 + wide * i / steps, y: top + step * fade, width: wide / steps + 0.5, height: step - 1 }, style: { fill: heat(t, (i + 0.5) / steps, fade) } });
        }
        children.push(put(text, x0 + wide + 8, top + step * (fade + 1) - 1, "left"));
      });
      // The ends are always written, what lies between where there is room.
      const last = s.ticks.length - 1;
      const room = (text) => fits(text, size.small, 400, t);
      let free = x0, until = x0 + wide - room(s.ticks[last].text) - 8;
      s.ticks.forEach((tick, i) => {
        const at = x0 + wide * tick.at, half = room(tick.text) / 2;
        if (i && i < last && (at - half < free || at + half > until)) return;
        free = i ? at + half + 8 : at + 2 * half + 8;
        children.push(put(tick.text, at, top + step * s.fades.length + 16, i ? i === last ? "right" : "center" : "left"));
      });
      return { type: "group", silent: true, children };
    },

    // Pointing anywhere at a curve finds the nearest place on it.
    stop(mark, area, api, t) {
      const [x, rate, from, to] = mark.value;
      const [left] = api.coord([from, rate]);
      const [right] = api.coord([to, rate]);
      const [cx, cy] = api.coord([x, rate]);
      return { type: "group", children: [
        { type: "rect", z2: 4, shape: { x: left, y: area.y, width: right - left, height: area.height }, style: { fill: "transparent" } },
        { type: "circle", z2: 5, shape: { cx, cy: between(cy, area.y, area.y + area.height), r: 5 }, style: { fill: "transparent", stroke: "transparent", lineWidth: 2.5 }, emphasis: { style: { fill: t.paper, stroke: t.accent } } },
      ] };
    },

    level(mark, area, api, t, lying) {
      const [rate] = mark.value;
      const style = { stroke: t.ink, lineWidth: 1, lineDash: [4, 4] };
      const label = (x, y, align) => words(t, mark.label || mark.name, x, y, { align, font: `${size.small}px ${t.font}`, fill: t.quiet });
      if (lying) {
        const x = api.coord([rate, 0])[0];
        const middle = area.x + area.width / 2;
        return { type: "group", silent: true, children: [
          { type: "line", z2: 1, shape: { x1: x, y1: area.y - 4, x2: x, y2: area.y + area.height }, style },
          label(x, area.y - 6, x < middle ? "left" : "right"),
        ] };
      }
      const y = api.coord([0, rate])[1];
      const right = area.x + area.width;
      return { type: "group", silent: true, children: [
        { type: "line", z2: 1, shape: { x1: area.x, y1: y, x2: right, y2: y }, style },
        ...(mark.label ? [label(right, y - 2, "right")] : []),
      ] };
    },
  };

  // A point over one length has a line for its interval; one over a band has a
  // box as wide as the band, with its rate drawn across.
  function standing(mark, area, api, t, left, right, wide) {
    const [at, rate, low, high, radius] = mark.value;
    const look = looks(t)[mark.look];
    const [x, y] = api.coord([at, rate]);
    const children = [ground(t, left - 4, area.y, right - left + 8, area.height)];
    let top = y - radius;
    if (low != null) {
      const base = api.coord([at, low])[1];
      const end = high == null ? -Infinity : api.coord([at, high])[1];
      top = Math.max(end, area.y);
      children.push({ type: "rect", z2: 3, shape: { x: left, y: top, width: right - left, height: Math.max(base - top, 1) }, style: { fill: look.bar, opacity: wide ? 0.28 : 1 } });
      if (end < area.y) children.push(arrow([[x - 6, area.y], [x, area.y - 9], [x + 6, area.y]], look.bar));
    }
    if (wide) children.push({ type: "line", z2: 4, shape: { x1: left, y1: y, x2: right, y2: y }, style: { stroke: look.bar, lineWidth: 3 } });
    children.push(symbol(look, x, y, radius));
    if (mark.labelSize) children.push(words(t, mark.label, x, Math.max(Math.min(top, y - radius), area.y + 18) - 3, { font: `600 ${mark.labelSize}px ${t.font}` }));
    return { type: "group", children };
  }

  const measured = document.createElement("canvas").getContext("2d");

  function fits(text, fontSize, weight, t) {
    measured.font = `${weight} ${fontSize}px ${t.font}`;
    return measured.measureText(text).width;
  }

  // The labels' column is as wide as its longest line needs, within limits;
  // longer names are broken between words.
  function labels(rows, t, width, narrow, tight) {
    const name = tight ? 12 : size.name;
    const measure = (text, font) => {
      measured.font = `${font} ${t.font}`;
      return measured.measureText(text).width;
    };
    const most = Math.max(width * narrow, 96);
    let widest = 0;
    const texts = rows.map((row) => {
      const kind = row.heading ? "heading" : "name";
      const lines = [""];
      for (const word of broken(plain(row.name), (text) => tight || measure(text, `600 ${name}px`) <= Math.max(most, 132))) {
        const longer = lines.at(-1) ? lines.at(-1) + " " + word : word;
        if (!tight && lines.at(-1) && measure(longer, `600 ${name}px`) > most) lines.push(word);
        else lines[lines.length - 1] = longer;
      }
      widest = Math.max(widest, ...lines.map((line) => measure(line, `700 ${name}px`)), measure(row.note || "", `${size.small}px`));
      return lines.map((line) => `{${kind}|${line}}`).concat(row.note ? [`{note|${plain(row.note)}}`] : []).join("\n");
    });
    return { texts, name, width: Math.ceil(tight ? widest : Math.min(widest, Math.max(width * (narrow + 0.03), 134))) };
  }

  // The words of a text, those cut in parts that have no room in one line.
  function broken(text, fit) {
    return text.split(/\s+/).flatMap((word) => {
      const parts = [];
      while (word && !fit(word)) {
        let n = word.length - 1;
        while (n > 1 && !fit(word.slice(0, n))) n--;
        parts.push(word.slice(0, n));
        word = word.slice(n);
      }
      return word ? [...parts, word] : parts;
    });
  }

  const plain = (text) => text.replace(/[{}|]/g, " "); // they mean something in rich text

  function rowAxis(axis, t, { texts, name }) {
    const rich = (colour, fontSize, fontWeight, lineHeight) => ({ color: colour, fontSize, fontWeight, lineHeight, fontFamily: t.font, align: "right" });
    axis.axisLine = axis.axisTick = { show: false };
    axis.splitLine = { show: false };
    axis.axisLabel = {
      interval: 0, margin: 14, align: "right",
      formatter: (_, i) => texts[i],
      rich: { heading: rich(t.ink, name, 700, name + 3), name: rich(t.ink, name, 600, name + 3), note: rich(t.quiet, size.small, 400, 16) },
    };
  }

  // Names above columns, on end where they don't fit side by side.
  function columnAxis(axis, t, chart, width) {
    const each = width / chart.columns.length;
    const lying = chart.columns.every((name) => Math.max(...name.split(" ").map((word) => fits(word, size.small, 600, t))) <= each - 6);
    axis.axisLine = axis.axisTick = axis.splitLine = { show: false };
    axis.axisLabel = {
      interval: 0, margin: 8, color: t.ink, fontSize: size.small, fontWeight: 600, fontFamily: t.font, lineHeight: 15, rotate: lying ? 0 : 90,
      width: lying ? each - 4 : 116, overflow: lying ? "break" : "truncate",
      formatter: (_, i) => chart.columns[i],
    };
  }

  const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

  // Numbers that an axis writes in a way of its own, by the names in charts/chart.go.
  const formats = {
    "@names": (chart) => (v) => chart.names[v] ?? "",
    "@clock": () => (v) => `${Math.floor(v / 60)}:${String(Math.round(v % 60)).padStart(2, "0")}`,
    "@month": () => (v) => months[v - 1] ?? "",
    "@date": () => (v) => { const d = new Date(v * 86_400_000); return `${d.getUTCDate()} ${months[d.getUTCMonth()]}`; },
    "@year": () => (v) => Number.isInteger(v) ? String(v) : "",
  };

  function numberAxis(axis, t, grid, chart) {
    const format = axis.axisLabel && formats[axis.axisLabel.formatter];
    axis.axisLabel = { ...axis.axisLabel, color: t.quiet, fontSize: size.small, hideOverlap: true, showMinLabel: true, showMaxLabel: true };
    axis.axisLine = { show: !grid, lineStyle: { color: t.edge } };
    if (axis.type === "log") {
      axis.logBase = 2; // twice and half lie equally far from 1
      axis.axisLabel.formatter = (v) => v < 1 ? "1/" + Math.round(1 / v) : String(v);
    }
    if (format) axis.axisLabel.formatter = format(chart);
    axis.axisTick = { show: false };
    axis.splitLine = { show: grid, lineStyle: { color: t.rule, opacity: 0.6 } };
    axis.nameTextStyle = { color: t.quiet, fontSize: size.small, align: axis.nameLocation === "end" ? "left" : "center" };
    axis.nameGap = axis.nameLocation === "end" ? 10 : 26;
  }

  function tooltip(t) {
    return {
      trigger: "item", confine: true, enterable: true, transitionDuration: 0, hideDelay: 200,
      backgroundColor: t.paper, borderColor: t.ink, borderWidth: 2, padding: 0, extraCssText: "border-radius:6px;box-shadow:none",
      formatter: (p) => p.data && p.data.detail ? card(p.data) : "",
    };
  }

  // An element and not HTML text, which the page's content policy and names
  // typed by people both speak against.
  function card(mark) {
    const box = document.createElement("div");
    box.className = "chart-card";
    const name = box.appendChild(document.createElement("strong"));
    name.textContent = mark.name;
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

  // A chart of many rows is drawn tighter on paper, so that a page holds it.
  const paperWidth = 672, paperHeight = 860, leastRow = 18;

  function onePage(chart) {
    if (!chart.rows || chart.height <= paperHeight) return chart.height;
    const row = (chart.height - paperHeight) / chart.rows.length;
    const now = chart.scale ? 50 : 52;
    return chart.height - chart.rows.length * Math.min(row, now - leastRow);
  }

  function dress(chart, t, width) {
    const option = structuredClone(chart.option);
    const lying = Boolean(chart.rows);
    const [grid] = option.grid;
    const tight = lying && !chart.columns && (chart.height - grid.top - grid.bottom) / chart.rows.length < 40;
    const names = lying ? labels(chart.rows, t, width, chart.behind || chart.columns ? 0.27 : 0.42, tight) : null;
    // The column beside the rows is as wide as what is written in it.
    const beside = chart.behind ? Math.max(...option.series.flatMap((one) => one.data.map((mark) => fits(mark.note ?? "", size.small, 400, t))), fits(chart.behind, size.small, 400, t)) : 0;
    option.animation = false;
    option.textStyle = { fontFamily: t.font, color: t.ink };
    option.tooltip = tooltip(t);
    for (const grid of option.grid) {
      grid.left = lying ? names.width + 18 : 48;
      grid.right = chart.behind ? Math.max(width < 560 ? 84 : 150, Math.ceil(beside) + 32) : lying ? 18 : 10;
      for (const side of ["top", "bottom", "height"]) if (grid[side]) grid[side] = Number(grid[side]);
    }
    if (chart.columns) columnAxis(option.xAxis[0], t, chart, width - option.grid[0].left - option.grid[0].right);
    else option.xAxis.forEach((axis) => numberAxis(axis, t, lying, chart));
    option.yAxis.forEach((axis) => lying ? rowAxis(axis, t, names) : numberAxis(axis, t, true, chart));
    if (chart.behind) option.series.push({ type: "custom", id: "behind", data: [{ value: [option.xAxis[0].max, 0] }] });
    for (const series of option.series) {
      const marks = series.data;
      const each = (width - 58) / marks.length;
      const labelSize = [size.text, 11.5].find((px) => marks.every((mark) => !mark.label || fits(mark.label, px, 600, t) <= each - 1));
      const shape = series.id.split(":")[0];
      const draw = shapes[shape];
      series.data = marks.map((mark) => ({ ...mark, labelSize }));
      series.renderItem = (params, api) => draw(series.data[params.dataIndex], chart.behind ? { ...params.coordSys, right: width - 4 } : params.coordSys, api, t, lying, chart);
      series.z = shape === "level" ? 1 : 2;
      series.silent = ["level", "scale", "behind"].includes(shape);
    }
    return option;
  }

  const read = (figure) => JSON.parse(figure.querySelector(".chart-data").textContent);

  // The text of an SVG, drawn without the page.
  function drawn(chart, t, width) {
    const view = window.echarts.init(null, null, { renderer: "svg", ssr: true, width, height: chart.height });
    view.setOption(dress(chart, t, width));
    const text = view.renderToSVGString();
    view.dispose();
    return text;
  }

  // The arrow keys step from mark to mark, in a heat map from cell to cell; Enter
  // narrows. Screen readers have the same in the table, which the label says.
  function stepping(figure, box, view) {
    const chart = read(figure);
    const stops = chart.option.series.flatMap((series, seriesIndex) => series.data.map((mark, dataIndex) => ({ mark, seriesIndex, dataIndex })))
      .filter(({ mark }) => mark.detail && mark.name);
    if (!stops.length) return;
    box.tabIndex = 0;
    box.setAttribute("aria-label", box.getAttribute("aria-label") + " The arrow keys step through it.");
    const told = figure.appendChild(document.createElement("p"));
    told.className = "unseen";
    told.setAttribute("role", "status");
    let at = -1;
    const neighbour = (right, down) => {
      if (at < 0) return 0;
      if (!chart.columns) return between(at + right + down, 0, stops.length - 1);
      let [x, y] = stops[at].mark.value;
      while ((x += right) >= 0 && (y += down) >= 0 && x < chart.columns.length && y < chart.rows.length) {
        const found = stops.findIndex(({ mark }) => mark.value[0] === x && mark.value[1] === y);
        if (found >= 0) return found;
      }
      return at;
    };
    const show = (type) => at >= 0 && view.dispatchAction({ type, seriesIndex: stops[at].seriesIndex, dataIndex: stops[at].dataIndex });
    const leave = () => { show("downplay"); view.dispatchAction({ type: "hideTip" }); at = -1; };
    const keys = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };
    box.addEventListener("keydown", (e) => {
      if (keys[e.key]) {
        e.preventDefault();
        show("downplay");
        at = neighbour(...keys[e.key]);
        show("highlight");
        show("showTip");
        const { mark } = stops[at];
        told.textContent = mark.name + ": " + mark.detail.map((pair) => pair.join(" ")).join(", ");
      } else if (e.key === "Enter" && at >= 0 && stops[at].mark.href && e.target === box) {
        window.location.assign(stops[at].mark.href);
      } else if (e.key === "Escape") {
        leave();
      }
    });
    box.addEventListener("blur", leave);
  }

  function draw(figure) {
    const chart = read(figure);
    const box = figure.querySelector(".chart-box");
    const view = window.echarts.init(box, null, { renderer: "svg" });
    const paint = () => {
      view.resize({ width: "auto", height: "auto" });
      view.setOption(dress(chart, theme(box), box.clientWidth), true);
    };
    paint();

    // A finger can't point without pressing: its first tap shows the numbers,
    // and the link among them narrows. A mouse has seen them and clicks.
    let touched = false;
    box.addEventListener("pointerdown", (e) => { touched = e.pointerType === "touch"; }, true);
    view.on("click", (p) => {
      if (!touched && p.data && p.data.href) window.location.assign(p.data.href);
    });

    stepping(figure, box, view);

    let width = box.clientWidth;
    new ResizeObserver(() => {
      if (box.clientWidth !== width) {
        width = box.clientWidth;
        paint();
      }
    }).observe(box);
    window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", paint);

    // On paper a chart has a width of its own, and the colours of the light scheme.
    const space = figure.querySelector(".chart-space");
    window.addEventListener("beforeprint", () => {
      const height = onePage(chart);
      view.dispatchAction({ type: "hideTip" });
      space.setAttribute("height", height);
      view.resize({ width: paperWidth, height });
      view.setOption(dress({ ...chart, height }, onPaper(box), paperWidth), true);
    });
    window.addEventListener("afterprint", () => {
      space.setAttribute("height", chart.height);
      paint();
    });
  }

  // For figure.js, which keeps charts as pictures.
  window.rigtally = { read, drawn, onPaper, sign, broken };

  if (window.echarts) document.querySelectorAll(".chart:not(.chart-unseen)").forEach(draw);
})();

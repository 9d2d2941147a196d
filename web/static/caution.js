// Shows cautions as conditions are entered, with or without signal. The lines at
// which they begin, and all words, come from the page (template "caution-limits").
"use strict";

(() => {
  const limits = document.querySelector(".caution-limits");

  function level(value, care, stop) {
    const slack = 1e-9; // what a conversion of units leaves
    if (!Number.isFinite(value)) {
      return "";
    }
    if (value >= Number(stop) - slack) {
      return "stop";
    }
    return value >= Number(care) - slack ? "care" : "";
  }

  function caution(kind, at) {
    const found = at && limits.querySelector(`template[data-kind="${kind}"][data-level="${at}"]`);
    return found ? [found.content.firstElementChild.cloneNode(true)] : [];
  }

  function rigtallyCautions({ tempC = null, depthM = null, velocityMS = null, storm = false }) {
    if (!limits) {
      return [];
    }
    const d = limits.dataset;
    const product = depthM === null || velocityMS === null ? NaN : depthM * velocityMS;
    const warm = tempC === null ? NaN : tempC;
    return [
      ...caution("lightning", storm ? "stop" : ""),
      ...caution("wading", level(product, d.wadingCareM2s, d.wadingStopM2s)),
      ...caution("warm-water", level(warm, d.warmCareC, d.warmStopC)),
    ];
  }
  window.rigtallyCautions = rigtallyCautions;

  // A number as it is typed, with the unit of the field or its own: 68, 20,5 °C, 2.5 ft, 80 cm, 0.6 m/s.
  function measured(input) {
    const text = (input?.value ?? "").trim().replace(",", ".");
    const match = /^(-?\d+(?:\.\d+)?)\s*(.*)$/.exec(text);
    if (!match) {
      return null;
    }
    const unit = (match[2] || input.dataset.unit || "").toLowerCase().replace(/°|deg/g, "").trim();
    const n = Number(match[1]);
    const toSI = { f: (n - 32) / 1.8, c: n, ft: n * 0.3048, m: n, cm: n / 100, in: n * 0.0254, "ft/s": n * 0.3048, fps: n * 0.3048, "m/s": n };
    return toSI[unit] ?? null;
  }

  for (const place of document.querySelectorAll("form [data-cautions]")) {
    const form = place.closest("form");
    let now = "";
    const show = () => {
      const field = (name) => form.elements.namedItem(name);
      const shown = rigtallyCautions({ tempC: measured(field("temp")), depthM: measured(field("depth")), velocityMS: measured(field("velocity")), storm: field("storm")?.checked ?? false });
      const text = shown.map((e) => e.textContent).join("\n");
      if (text !== now) {
        now = text;
        place.replaceChildren(...shown);
      }
    };
    form.addEventListener("input", show);
    form.addEventListener("change", show);
    show();
  }
})();

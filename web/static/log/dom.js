// Small helpers to make elements.

/**
 * Makes an element. Properties that start with "on" are listeners; text is text.
 * @param {string} tag
 * @param {Object} [props]
 * @param {...(Node|string|null|false|undefined)} children
 */
export function h(tag, props, ...children) {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(props ?? {})) {
    if (v === undefined || v === null || v === false) continue;
    if (k.startsWith("on")) e.addEventListener(k.slice(2), v);
    else if (k in e && k !== "list" && k !== "form") e[k] = v;
    else e.setAttribute(k, v === true ? "" : v);
  }
  e.append(...children.flat().filter((c) => c !== null && c !== undefined && c !== false));
  return e;
}

/** The element of an id. */
export const by = (id) => document.getElementById(id);

/**
 * Puts children into a place, and the focus back on the one of the same
 * data-key when it had it.
 */
export function fill(place, ...children) {
  const key = place.contains(document.activeElement) ? document.activeElement.closest("[data-key]")?.dataset.key : undefined;
  place.replaceChildren(...children.flat().filter((c) => c !== null && c !== undefined && c !== false));
  if (key) place.querySelector(`[data-key="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
}

/** A copy of one of the icons that the page brought along, or nothing. */
export function icon(name) {
  const drawn = document.querySelector(`template#icons`)?.content.querySelector(`[data-icon="${name}"] > svg`);
  return drawn ? drawn.cloneNode(true) : null;
}

/** A choice among few: buttons of which one is pressed. */
export function chips(name, options, chosen, choose, look = "") {
  return h("div", { className: `chips ${look}`, role: "group", "aria-label": name },
    options.map(([value, text]) => h("button", {
      type: "button", className: "chip", "aria-pressed": String(value === chosen), "data-key": `${name}:${value}`,
      onclick: () => choose(value),
    }, text)));
}

/* Elements made by hand: text always goes in as text. */

const SVG = "http://www.w3.org/2000/svg";

/** An element; `on*` are listeners, null and false leave an attribute out. */
export function h(tag, attributes = {}, ...children) {
  return dress(document.createElement(tag), attributes, children);
}

/** An SVG element. */
export function s(tag, attributes = {}, ...children) {
  return dress(document.createElementNS(SVG, tag), attributes, children);
}

function dress(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** A button: class, words, what it does, other attributes. A second tap while it does it does nothing. */
export function button(kind, words, act, more = {}) {
  let busy = false;
  const once = async (event) => {
    if (busy) return;
    busy = true;
    try {
      await act(event);
    } finally {
      busy = false;
    }
  };
  return h("button", { type: "button", class: kind, onclick: once, ...more }, words);
}

/** One of the seven signs; with words it is read aloud, without it is an ornament. */
export function sign(name, words = null) {
  const spoken = words ? { role: "img", "aria-label": words } : { "aria-hidden": "true" };
  return s("svg", { class: `sign ${name}`, viewBox: "0 0 16 16", ...spoken }, s("use", { href: `/static/signs.svg#${name}` }));
}

const ICONS = {
  aloud: ["M4 9.5v5h3.5L12 18.5v-13L7.5 9.5zM15.5 9a4.2 4.2 0 0 1 0 6M18 6.2a8.2 8.2 0 0 1 0 11.6"],
  hush: ["M6 6h12v12H6z"],
  menu: ["M4 6.5h16M4 12h16M4 17.5h16"],
  wrong: ["M12 2.2a9.8 9.8 0 1 0 .01 0z", "M12 6.8v6.6M12 17v.4"],
  care: ["M12 2.5 22.2 21H1.8z", "M12 9.2v5.4M12 17.6v.4"],
};

/** A line icon, an ornament beside words or an aria-label.
    @param {string} name */
export const icon = (name) => s("svg", { class: "icon", viewBox: "0 0 24 24", "aria-hidden": "true" }, ICONS[name].map((d) => s("path", { d })));

/** The mark of the Stop screen. */
export const halt = () => s("svg", { class: "mark", viewBox: "0 0 48 48", "aria-hidden": "true" },
  s("path", { d: "M15 3h18l12 12v18L33 45H15L3 33V15z" }), s("path", { class: "bar", d: "M14 24h20" }));

/** Put something in the region that screen readers announce. */
export function speak(words) {
  document.getElementById("spoken").textContent = words;
}

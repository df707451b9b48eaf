/* Keeps a page fresh: what is new comes in by itself, but never under the hands of somebody at work. */

const EVERY_MS = Number(/** @type {HTMLElement} */ (document.getElementById("fresh")).dataset.seconds) * 1000;
const FIELDS = "input:not([type=hidden]), textarea, select";

const main = () => document.querySelector("main");
/** @returns {(Element | null)[]} */
const tappable = () => [...main().querySelectorAll("a, button, summary, [tabindex]")];

function touched(field) {
  if (field.matches("[type=radio], [type=checkbox]")) return field.checked !== field.defaultChecked;
  if (!field.matches("select")) return field.value !== field.defaultValue;
  return field.selectedIndex !== Math.max(0, [...field.options].findIndex((option) => option.defaultSelected));
}

/** Whether somebody has typed, opened a part, or stands in a field. */
function atWork() {
  const fields = [...main().querySelectorAll(FIELDS)];
  return fields.some((field) => field === document.activeElement || touched(field)) || Boolean(main().querySelector("details[open]"));
}

async function newer() {
  const answer = await fetch(location.href, { cache: "no-store", credentials: "same-origin", headers: { Accept: "text/html" } });
  if (!answer.ok || answer.redirected) return null;
  return new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("main");
}

/** Put the new content in the old one's place; focus and sideways scrolling stay. */
function bringIn(content) {
  const held = tappable().indexOf(document.activeElement);
  const aside = [...main().querySelectorAll(".scroll")].map((part) => part.scrollLeft);
  main().replaceChildren(...content.childNodes);
  main().querySelectorAll(".scroll").forEach((part, n) => { part.scrollLeft = aside[n] ?? 0; });
  if (held >= 0) tappable()[held]?.focus({ preventScroll: true });
}

/** Say that there is something new, where bringing it in would disturb. */
function announce() {
  if (document.getElementById("newer")) return;
  const note = document.createElement("p");
  Object.assign(note, { id: "newer", className: "flash", innerHTML: '<a href="">Show this page anew</a>: it may have changed since you began here.' });
  note.setAttribute("role", "status");
  main().prepend(note);
}

async function refresh() {
  if (document.hidden) return;
  if (atWork()) return void announce();
  const content = await newer().catch(() => null);
  if (content && !atWork()) bringIn(content);
}

setInterval(refresh, EVERY_MS);
document.addEventListener("visibilitychange", refresh);

/* A picture of the prescription, as it came with the plan: parsed, looked through, and taken in whole or not at all. */

import { harmless, keyOfExercise, keyOfTrouble, picturesOf } from "../core/picture.js";
import { say } from "../core/words.js";
import { h } from "./dom.js";

/** The picture of that key, which says itself what it shows; null where the plan has none that may be shown.
    @param {App} app @param {Course | null} course @param {string | null} key @param {any} given */
export function figureOf(app, course, key, { named = false } = {}) {
  const told = (course?.figures ?? []).find((each) => each.key === key);
  const drawing = told?.svg && drawn(told.svg);
  if (!drawing) return null;
  drawing.removeAttribute("aria-labelledby");   // the same picture may stand on a screen twice, its ids with it
  drawing.setAttribute("aria-label", `${told.title}. ${told.description}`);
  return h("figure", { class: `picture ${told.purpose}` }, drawing, h("figcaption", {}, named ? h("p", {}, told.title) : null,
    drawing.querySelector(".arc.band") ? h("p", {}, say("figure.arrows")) : null, h("p", { class: "quiet" }, say("now.may_differ"))));
}

/** The picture of an exercise; where fingers differ, those of the mended one, and it says which.
    @param {App} app @param {Course} course @param {string} exercise */
export const exerciseFigure = (app, course, exercise) => figureOf(app, course, keyOfExercise(course, exercise), { named: picturesOf(course, "exercise", exercise).length > 1 });

/** The picture that goes with a trouble. */
export const troubleFigure = (app, course, kind) => figureOf(app, course, keyOfTrouble(course, kind));

/** All pictures of a purpose, of one exercise where it is named; where fingers differ each says for which it is.
    @param {App} app @param {Course} course @param {string} purpose @param {string | null} exercise */
export function figuresFor(app, course, purpose, exercise = null) {
  const keys = picturesOf(course, purpose, exercise).map(({ key }) => key);
  return keys.map((key) => figureOf(app, course, key, { named: keys.length > 1 })).filter(Boolean);
}

/** The drawing as an element of this page; null where it cannot be read or holds what a picture does not need. */
function drawn(svg) {
  const root = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  return root.localName === "svg" && harmless(root) ? document.adoptNode(root) : null;
}

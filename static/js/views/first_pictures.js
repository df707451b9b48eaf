/* The plan in five pictures: hand, splint, exercise, what must never happen, when to stop and ring. */

import { doable, mayExercise } from "../core/stop.js";
import { troublesOf } from "../core/trouble.js";
import { say } from "../core/words.js";
import { change } from "../store/db.js";
import { load } from "../store/state.js";
import { button, h, halt } from "./dom.js";
import { exerciseFigure, figuresFor } from "./figure.js";
import { heading } from "./frame.js";
import { dose, numbers, said } from "./parts.js";

const PAGES = [hand, splint, exercise, never, stop];

/** One of the five; `flow` is {next: what follows the last, page: where it was left}.
    @param {CourseApp} app @param {any} args @param {any} given */
export function pictures(app, args, { next, page }) {
  const turn = async (to) => {
    if (app.state.first?.on) await change("first", (kept) => ({ ...kept, page: to }));
    app.state = await load();
    app.show(app.shown.name, { ...args, page: to });
  };
  const last = page === PAGES.length - 1;
  return {
    title: say("pics.title"), live: true,
    main: [h("p", { class: "quiet" }, say("pics.of", { n: page + 1, of: PAGES.length })), ...PAGES[page](app, app.course()).flat(2).filter(Boolean)],
    acts: [page ? button("alt", say("go_back"), () => turn(page - 1)) : null, button("go", say("go_on"), () => (last ? next() : turn(page + 1)))],
  };
}

/** One picture of a purpose, so that it stays one screen: My plan has all of them. */
const pictureOf = (app, course, purpose) => figuresFor(app, course, purpose)[0];

/** @param {App} app @param {Course} course */
function hand(app, course) {
  return [heading(say("pics.hand")), h("p", { class: "hand" }, h("b", {}, course.hand)), h("p", { class: "hand" }, h("b", {}, course.finger)), pictureOf(app, course, "fingers")];
}

/** @param {App} app @param {Course} course */
function splint(app, course) {
  const { phase } = course;
  return [heading(say("pics.splint")), pictureOf(app, course, "position"), h("p", { class: "step" }, phase?.splint), (phase?.wear ?? []).map((line) => h("p", {}, line))];
}

/** @param {PlanApp} app @param {Course} course */
function exercise(app, course) {
  if (!mayExercise(course, app.state)) return [heading(say("pics.no_exercise")), h("p", {}, say("stop.rest"))];
  const list = doable(course);
  const shown = list.find((each) => each.leading) ?? list[0];
  if (!shown) return [heading(say("pics.no_exercise")), h("p", {}, say("now.rest_plan"))];
  return [
    heading(say("pics.exercise")), exerciseFigure(app, course, shown.key), h("h2", {}, shown.name), h("p", {}, dose(shown.amount, shown.unit)),
    h("ol", { class: "steps" }, shown.steps.map((step) => h("li", {}, step))),
  ];
}

/** @param {App} app @param {Course} course */
function never(app, course) {
  const { phase } = course;
  return [heading(say("pics.never")), pictureOf(app, course, "forbidden"), said(phase?.forbidden?.length ? phase.forbidden : phase?.cautions)];
}

/** @param {PlanApp} app @param {Course} course */
function stop(app, course) {
  const kinds = troublesOf(app.state.plan.body, course).filter((trouble) => trouble.stop);
  return [h("div", { class: "halt" }, halt(), heading(say("pics.stop"))), said(kinds.map((trouble) => trouble.label)), h("p", {}, say("pics.strip")), numbers(app)];
}

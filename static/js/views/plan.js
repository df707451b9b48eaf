/* My plan: stage, splint, what must not be done, the exercises, the next visit. */

import { dateWords } from "../core/clock.js";
import { doable, mayExercise } from "../core/stop.js";
import { say } from "../core/words.js";
import { button, h } from "./dom.js";
import { figuresFor } from "./figure.js";
import { heading } from "./frame.js";
import { cautions, dose, outOfTouch, seenBy } from "./parts.js";

/** @param {PlanApp} app */
export function plan(app) {
  const course = app.course();
  const phase = course?.phase;
  const may = course && mayExercise(course, app.state);
  return {
    title: say("plan.title"), live: true,
    main: [
      course ? cautions(app, course) : null, heading(say("plan.title")), course ? seenBy(app, course) : null, outOfTouch(app),
      may === false ? h("p", { class: "wrong" }, say("stop.rest")) : null,
      phase ? facts(app, course, phase, may) : h("p", {}, say("plan.none")),
      may && doable(course).length ? exercises(app, course) : null,
    ].filter(Boolean),
    acts: [button("alt", say("go_back"), app.home)],
    actsKind: "low",
  };
}

function facts(app, course, phase, may) {
  const visit = course.next_visit;
  const list = [
    ["plan.stage", [phase.name, may && (!course.exercises.length || doable(course).length) ? phase.carry_on : null]], ["plan.day", [course.day?.words]], ["plan.splint", [phase.splint, ...(phase.wear ?? []), ...figuresFor(app, course, "position"), ...figuresFor(app, course, "fingers")]],
    ["plan.on", onWords(phase.wearing)], ["plan.off", offWords(phase.wearing)],
    ["plan.may", (may ? doable(course) : []).map((exercise) => exercise.name)], ["plan.never", [...(phase.forbidden ?? []), ...figuresFor(app, course, "forbidden")]],
    ["plan.visit", visit ? [visit.words ?? dateWords(visit.date, app.language())] : [say("plan.no_visit")]],
    ["plan.later", phase.later?.length ? [...phase.later, say("plan.told_when")] : []],
    ["plan.clinic", [app.state.plan.body.clinic?.name]],
  ];
  const shown = list.map(([key, lines]) => [key, lines.filter(Boolean)]).filter(([, lines]) => lines.length);
  return h("dl", { class: "facts" }, shown.flatMap(([key, lines]) => [h("dt", {}, say(key)), lines.map((line) => h("dd", {}, line))]));
}

/* When the splint is on, and when it may come off: the regime's own rules, in words that can be checked. Old plans have none. */
const onWords = (rules) => ["by_day", "by_night", "outdoors"].filter((key) => rules?.[key]).map((key) => say(`plan.on.${key}`));

/** @param {Json} rules */
const offWords = (rules) => (rules ? (rules.comes_off.length ? rules.comes_off : ["never"]).map((key) => say(`plan.off.${key}`)) : []);

/** @param {App} app @param {Course} course */
const exercises = (app, course) => h("section", {}, h("h2", {}, say("plan.exercises")), doable(course).map((exercise) => h("section", { class: "exercise" },
  h("h3", {}, exercise.name), h("p", { class: "quiet" }, dose(exercise.amount, exercise.unit)), figuresFor(app, course, "exercise", exercise.key), h("ol", { class: "steps" }, exercise.steps.map((step) => h("li", {}, step))))));

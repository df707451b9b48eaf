/* Now: cautions first, what is due and how many, the steps, and Start. */

import { clock, ms } from "../core/clock.js";
import { onItsWay, releaseQuestion } from "../core/release.js";
import { openCheck } from "../core/check.js";
import { due, left, next } from "../core/day.js";
import { doable } from "../core/stop.js";
import { listed, say } from "../core/words.js";
import { button, h } from "./dom.js";
import { exerciseFigure } from "./figure.js";
import { setupRows } from "./first.js";
import { heading } from "./frame.js";
import { cautions, daySoFar, dose, outOfTouch, readButton, rows, whenWords } from "./parts.js";
import { big, carers } from "./ways.js";

/** @param {CourseApp} app */
export function now(app) {
  const course = app.course();
  const slots = due(course, app.log(), app.now());
  return slots.length ? wanted(app, course, slots) : nothing(app, course);
}

/** A task for each slot: what is still missing of its dose.
    @param {App} app @param {Course} course @param {Slot[]} slots */
const tasksOf = (app, course, slots) => slots.flatMap((slot) => course.exercises.filter((each) => each.key === slot.exercise).map((exercise) => ({ slot, exercise, amount: left(slot, app.log()) })));

/** @param {PlanApp} app @param {Course} course @param {Slot[]} slots */
function wanted(app, course, slots) {
  const tasks = tasksOf(app, course, slots);
  const only = tasks.length === 1 ? tasks[0] : null;
  const [head, ask] = careful(app, course);
  const until = clock(Math.min(...slots.map((slot) => ms(slot.end))), app.zone(), app.language());
  const all = () => app.go("pain", { goes: tasks.map(({ slot, amount }) => ({ exercise: slot.exercise, amount, unit: slot.unit, how: "one_tap", done_at: Date.now() })) });
  return {
    title: say("now.title"), live: true, yields: true,
    main: [
      head, outOfTouch(app), onTheWay(app, course),
      only ? null : heading(say("now.several", { n: tasks.length })),
      tasks.map((task, i) => taskOf(task, only, until, app, i ? null : ask)),
      checkRow(app, course),
    ].flat().filter(Boolean),
    acts: only?.exercise.rehearsal ? [button("go", say("done"), all)] : [button("go", say("start"), () => { app.draft = null; app.go("count"); }), button("alt", only?.slot.unit === "times" ? say("all_done", { n: only.amount }) : say("all_parts_done"), all)],
    actsKind: "stack",
  };
}

/** [the cautions, the button that asks for reading them]: among larger buttons, and below a carer's further cautions, it stands after the dose, which must be seen first.
    @param {PlanApp} app @param {Course} course */
function careful(app, course) {
  const ask = readButton(app, course);
  return big(app) || carers(app) ? [cautions(app, course), ask] : [cautions(app, course, { ask }), null];
}

function taskOf({ slot, exercise, amount }, only, until, app, ask) {
  const name = only ? heading(exercise.name) : h("h2", {}, exercise.name);
  return h("section", { class: "exercise" },
    h("div", { class: "task" },
      h("div", {}, h("p", { class: "quiet" }, say(slot.muted ? "now.until_muted" : "now.until", { time: until })), name),
      exercise.rehearsal ? null : h("p", { class: "dose" }, h("b", {}, String(amount)), say(`${slot.unit}.word`, { n: amount }))),
    ask,
    exerciseFigure(app, app.course(), exercise.key),
    h("ol", { class: "steps" }, exercise.steps.map((step) => h("li", {}, step))));
}

/** @param {PlanApp} app @param {Course} course */
function nothing(app, course) {
  const coming = next(course, app.now());
  const [head, ask] = careful(app, course);
  return {
    title: say("now.title"), live: true, yields: true,
    main: [
      head, outOfTouch(app), onTheWay(app, course), checkRow(app, course),
      heading(say(coming.length ? "now.nothing" : "now.no_plan")),
      coming.length ? h("div", {}, h("p", {}, say("next_time")), h("p", { class: "clock" }, whenWords(app, ms(coming[0].start)))) : null,
      coming.length ? h("p", { class: "quiet" }, coming.map((slot) => named(course, slot)).join(say("figure.comma"))) : h("p", {}, say("now.rest_plan")), ask,
      daySoFar(app, course),
      rows([{ words: say("plan.title"), act: () => app.go("plan") }, { words: say("days.title"), act: () => app.go("days") }]),
    ].flat().filter(Boolean),
    acts: doable(course).length ? [button("alt", say("did_some"), () => app.go("extra"))] : [],
    actsKind: "low",
  };
}

/** @param {Course} course @param {Slot} slot */
function named(course, slot) {
  const name = course.exercises.find((exercise) => exercise.key === slot.exercise)?.name ?? slot.exercise;
  return listed(name, dose(slot.amount, slot.unit));
}

/** What the phone asks besides exercise: the daily check, and questions left for later.
    @param {PlanApp} app @param {Course} course */
function checkRow(app, course) {
  const at = app.at();
  const list = [
    openCheck(course, app.state.checked, app.now()) && { words: say("check.title"), far: say("check.open"), act: () => app.go("check") },
    releaseQuestion(course, app.state, at) && { words: say("release.title"), act: () => app.go("release") },
    at.allWell(course) && { words: say("well.title"), act: () => app.go("well") },
    ...setupRows(app),
  ].filter(Boolean);
  return list.length ? rows(list) : null;
}

/** An answer that starts the next stage is on its way: until it has, this one goes on.
    @param {PlanApp} app @param {Course} course */
const onTheWay = (app, course) => onItsWay(course, app.state)?.answer === "nothing"
  && h("p", { class: "seen" }, `${say("release.sent")} ${course.phase?.carry_on ?? ""}`);

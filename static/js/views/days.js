/* My days: the last days hour by hour, and what can still be added. */

import { dateWords, ms } from "../core/clock.js";
import { amendable, fillable, hours, today } from "../core/day.js";
import { listed, say } from "../core/words.js";
import { button, h } from "./dom.js";
import { heading } from "./frame.js";
import { dayOf, dose, key, rows, whenWords } from "./parts.js";

/** @param {PlanApp} app */
export function days(app) {
  const course = app.course();
  return {
    title: say("days.title"), live: true,
    main: [heading(say("days.title")), ...(course ? daysOf(app, course) : [none()])].flat(2).filter(Boolean),
    acts: [button("alt", say("go_back"), app.home)],
    actsKind: "low",
  };
}

const none = () => h("p", {}, say("days.none"));

/** @param {PlanApp} app @param {Course} course */
function daysOf(app, course) {
  const now = app.now();
  const last = today(course, now) ?? "";
  const shown = [...new Set(course.slots.map((slot) => slot.day))].filter((day) => day <= last).sort().reverse();
  const cells = (exercise, day) => hours(course, exercise.key, day, app.log(), now);
  const gaps = fillable(course, app.log(), now);
  const logged = amendable(course, app.log(), now);
  return [
    shown.length ? [h("p", { class: "quiet" }, say("days.logged")), ...shown.map((day) => dayPart(app, course, day, cells))] : none(),
    gaps.length ? [h("h2", {}, say("days.add")), h("p", { class: "quiet" }, say("days.until", { n: app.rules().fill_in_hours })), rows(gaps.map((slot) => gapRow(app, course, slot)))] : null,
    logged.length ? [h("h2", {}, say("days.amend")), h("p", { class: "quiet" }, say("days.amend_until", { n: app.rules().fill_in_hours })), rows(logged.map((each) => loggedRow(app, course, each)))] : null,
  ];
}

/** @param {App} app @param {Course} course @param {string} day @param {(exercise: Exercise, day: string) => any[]} cells */
function dayPart(app, course, day, cells) {
  const parts = course.exercises.map((exercise) => /** @type {const} */ ([exercise, cells(exercise, day)])).filter(([, list]) => list.length);
  return [h("h2", {}, dateWords(day, app.language())), ...parts.flatMap(([exercise, list]) => [
    course.exercises.length > 1 ? h("p", {}, exercise.name) : null, dayOf(app, list, listed(exercise.name, dateWords(day, app.language()))), exercise.rehearsal ? null : key(list)])];
}

/** @param {App} app @param {Course} course @param {Slot} slot */
const gapRow = (app, course, slot) => ({
  words: say("add_slot", { time: whenWords(app, ms(slot.start)) }),
  far: course.exercises.length > 1 ? course.exercises.find((each) => each.key === slot.exercise)?.name : null,
  act: () => app.go("fill", { slot }),
});

/** @param {App} app @param {Course} course @param {any} given */
const loggedRow = (app, course, { bout, at }) => {
  const amounts = dose(bout.amount, bout.unit);
  const name = course.exercises.length > 1 ? course.exercises.find((each) => each.key === bout.exercise)?.name : null;
  const what = bout.pain === null ? amounts : say("saved.with_pain", { amounts, pain: bout.pain });
  return { words: say("day_time", { day: whenWords(app, at), time: what }), far: name, act: () => app.go("amend", { bout }) };
};

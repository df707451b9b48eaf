/* Amounts without typing: an hour filled in later, some done anyway, a logged figure put right. */

import { ms } from "../core/clock.js";
import { doneAt, left } from "../core/day.js";
import { doable } from "../core/stop.js";
import { say } from "../core/words.js";
import { button, h } from "./dom.js";
import { heading } from "./frame.js";
import { cautions, choice, dose, whenWords } from "./parts.js";
import { undo } from "./saved.js";

const MOST = 1000;   // more than anybody does, and what the server takes

function stepper(app, args, name, amount, unit) {
  const set = (n) => app.show(name, { ...args, amount: Math.max(1, Math.min(MOST, n)) }, { quietly: true });
  return h("div", { class: "stepper" },
    button("alt", "−", () => set(amount - 1), { "aria-label": say("one_less") }),
    h("p", { role: "status" }, String(amount), h("span", { class: "unseen" }, ` ${say(`${unit}.word`, { n: amount })}`)),
    button("alt", "+", () => set(amount + 1), { "aria-label": say("one_more") }));
}

const saves = (amount, unit) => say("save_amount", { amount: dose(amount, unit) });

const back = () => button("alt", say("go_back"), () => history.back());

/** Fill in a slot that has ended: it keeps the slot, not an invented minute.
    @param {CourseApp} app @param {any} args */
export function fillIn(app, args) {
  const { slot, amount = left(slot, app.log()) } = args;
  const course = app.course();
  const exercise = course.exercises.find((each) => each.key === slot.exercise);
  const go = { exercise: slot.exercise, amount, unit: slot.unit, how: "later", slot_start: slot.start };
  return {
    title: say("fill.title"),
    main: [cautions(app, course), heading(say("fill.how_many", { time: whenWords(app, ms(slot.start)) })), h("p", { class: "quiet" }, exercise?.name ?? ""),
      stepper(app, args, "fill", amount, slot.unit), h("p", { class: "quiet" }, say("fill.later"))].filter(Boolean),
    acts: [back(), button("go", saves(amount, slot.unit), () => app.go("pain", { goes: [go] }, { replace: true }))],
  };
}

/** Some done where nothing is due.
    @param {CourseApp} app @param {any} args */
export function extra(app, args) {
  const course = app.course();
  const list = doable(course);
  const picked = list.find((each) => each.key === args.exercise) ?? list.find((each) => each.leading) ?? list[0];
  const { amount = picked.amount } = args;
  const pick = (exercise) => app.show("extra", { exercise: exercise.key }, { quietly: true });
  const go = { exercise: picked.key, amount, unit: picked.unit, how: "one_tap" };
  return {
    title: say("did_some"), yields: true,
    main: [cautions(app, course), heading(say("extra.title")),
      list.length > 1 ? h("div", { class: "choices" }, list.map((each) => choice(each.name, each === picked, () => pick(each)))) : h("p", {}, picked.name),
      stepper(app, { ...args, exercise: picked.key }, "extra", amount, picked.unit), h("p", { class: "quiet" }, say("extra.no_more"))].filter(Boolean),
    acts: [back(), button("go", saves(amount, picked.unit), () => app.go("pain", { goes: [go] }, { replace: true }))],
  };
}

/** Put a figure right that is logged already: a new entry that replaces it.
    @param {CourseApp} app @param {any} args */
export function amend(app, args) {
  const { bout, amount = bout.amount } = args;
  const go = { exercise: bout.exercise, amount, unit: bout.unit, how: bout.how, slot_start: bout.slot_start, done_at: bout.done_at && ms(bout.done_at), supersedes: bout.id };
  return {
    title: say("amend.title"),
    main: [heading(say("amend.title")), h("p", { class: "quiet" }, say("amend.was", { time: whenWords(app, doneAt(bout)), amount: dose(bout.amount, bout.unit) })), stepper(app, args, "amend", amount, bout.unit), button("skip", say("amend.none"), () => undo(app, [bout]))],
    acts: [back(), button("go", saves(amount, bout.unit), () => app.go("pain", { goes: [go] }, { replace: true }))],
  };
}

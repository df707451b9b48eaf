/* Saved: what was logged, where it is, when the next is due, and the day so far. */

import { clock, ms } from "../core/clock.js";
import { due, fillable, leading, next } from "../core/day.js";
import { excess } from "../core/excess.js";
import { inSlot, standing } from "../core/standing.js";
import { listed, say } from "../core/words.js";
import { alone } from "../net/flush.js";
import { logBouts } from "../store/log.js";
import { withdraw } from "../store/outbox.js";
import { load } from "../store/state.js";
import { button, h, sign, speak } from "./dom.js";
import { heading } from "./frame.js";
import { daySoFar, dose, outOfTouch, rows, whenWords } from "./parts.js";

/** @param {CourseApp} app @param {any} given */
export function saved(app, { bouts }) {
  const course = app.course();
  const coming = next(course, app.now())[0];
  const [gap] = fillable(course, app.log(), app.now()).filter((slot) => slot.exercise === leading(course)?.key);
  return {
    title: say("saved.title"), live: true, yields: true,
    main: [
      heading(summary(course, bouts), "saved"), several(course, bouts), tooMuch(app, course, bouts, coming), places(app, bouts), outOfTouch(app),
      coming ? h("div", {}, h("p", {}, say("next_time")), h("p", { class: "clock" }, whenWords(app, ms(coming.start)))) : null,
      daySoFar(app, course), gap ? rows([{ words: say("add_slot", { time: whenWords(app, ms(gap.start)) }), act: () => app.go("fill", { slot: gap }) }]) : null,
      others(app, course),
    ].flat().filter(Boolean),
    acts: [button("alt", say("undo"), () => undo(app, bouts)), button("alt", say("done"), app.home)],
    actsKind: "low even",
  };
}

/** @param {Course} course @param {Bout[]} bouts */
function summary(course, bouts) {
  const rehearsed = course.exercises.find((each) => each.key === bouts[0].exercise)?.rehearsal;
  const amounts = rehearsed || bouts.length > 1 ? say("saved.title") : dose(bouts[0].amount, bouts[0].unit);
  const { pain } = bouts[0];
  return pain === null ? amounts : say("saved.with_pain", { amounts, pain });
}

/** Several goes need their names, or nobody knows which was which.
    @param {Course} course @param {Bout[]} bouts */
function several(course, bouts) {
  const nameOf = (bout) => course.exercises.find((each) => each.key === bout.exercise)?.name ?? bout.exercise;
  return bouts.length > 1 && h("ul", {}, bouts.map((bout) => h("li", {}, listed(nameOf(bout), dose(bout.amount, bout.unit)))));
}

/** @param {App} app @param {Bout[]} bouts */
function places(app, bouts) {
  const ids = new Set(bouts.map((bout) => bout.id));
  const entries = app.state.outbox.filter((entry) => ids.has(entry.item.id));
  const refused = entries.some((entry) => entry.refused);
  const there = entries.length === 0;
  const at = clock(Date.parse(bouts[0].entered_at) + bouts[0].offset_ms, app.zone(), app.language());
  const line = (yes, words, far) => h("li", { class: yes ? "yes" : null }, sign(yes ? "logged" : "ahead"), h("div", {}, h("b", {}, words), h("span", {}, far)));
  return [
    h("div", { role: "status" }, h("ol", { class: "states" }, line(true, say("saved.here"), say("at_time", { time: at })),
      line(there, say("saved.clinic"), say(there ? "saved.there" : refused ? "saved.refused" : "saved.waits")))),
    there ? null : h("p", { class: "quiet" }, say("saved.will")),
  ];
}

/** @param {App} app @param {Course} course @param {Bout[]} bouts @param {any} coming */
function tooMuch(app, course, bouts, coming) {
  const said = bouts.map((bout) => excessOf(app, course, bout));
  if (said.includes("rest")) return h("p", { class: "enough" }, coming ? say("rest_now", { time: whenWords(app, ms(coming.start)) }) : say("rest_now_only"));
  return said.includes("enough") ? h("p", { class: "enough" }, say("enough")) : null;
}

/** @param {App} app @param {Course} course @param {Bout} bout */
function excessOf(app, course, bout) {
  const slot = course.slots.find((each) => inSlot(bout, each));
  const exercise = course.exercises.find((each) => each.key === bout.exercise);
  if (exercise?.rehearsal) return null;
  if (!slot) return excess(bout.amount, exercise?.amount ?? bout.amount, app.rules(), false);
  return excess(standing(slot, app.log(), app.now()).total, slot.amount, app.rules());
}

/** With both hands in plan, the other hand may be due at the same hour.
    @param {PlanApp} app @param {Course} course */
function others(app, course) {
  const due2 = app.state.plan.body.courses.filter((each) => each.id !== course.id && due(each, app.log(), app.now()).length);
  const go = (each) => { app.chosen = each.id; app.home(); };
  return due2.map((each) => button("go", say("now_other", { hand: each.hand, finger: each.finger }), () => go(each)));
}

/** Not sent yet: taken out. Sent already: an entry of nothing done takes its place.
    @param {CourseApp} app @param {Bout[]} bouts */
export async function undo(app, bouts) {
  const gone = [];
  for (const bout of bouts) if (await alone(() => withdraw(bout.id))) gone.push(bout.id);
  app.state = await load();
  const sent = bouts.filter((bout) => !gone.includes(bout.id));
  if (sent.length) await logBouts(app.state, app.course(), sent.map(nothing));
  await app.entered();
  app.home();
  return speak(say("taken_out"));
}

/** @param {any} given */
const nothing = ({ id, exercise, unit, how, slot_start, done_at }) => ({ exercise, unit, how, slot_start, done_at: done_at && ms(done_at), amount: 0, supersedes: id });

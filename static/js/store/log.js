/* What a patient enters: each act is on disk, whole, when its promise resolves. */

import * as make from "../core/items.js";
import { iso } from "../core/clock.js";
import { troubleOf } from "../core/trouble.js";
import { phoneZone } from "../net/fetch.js";
import { transact } from "./db.js";
import { hold } from "./held.js";
import { enter } from "./outbox.js";

/** @param {State} state */
const context = (state) => make.contextOf(state, phoneZone());

/** @param {State} state @param {Course} course @param {Go[]} goes @param {number} at */
export const boutsOf = (state, course, goes, at) => goes.map((go) => make.bout(course.id, go, context(state), at));

/** Bouts of goes made together; resolves with them. Throws NotSaved.
    @param {State} state @param {Course} course @param {Go[]} goes */
export async function logBouts(state, course, goes, at = Date.now()) {
  const bouts = boutsOf(state, course, goes, at);
  await enter(bouts);
  return bouts;
}

/** Reports of trouble made together, with `others` in the same transaction; those that stop do so from now on.
    @param {WithPlan} state @param {Course} course @param {string[]} kinds
    @param {{details?: TroubleDetails, others?: Item[], also?: (stores: Stores) => void, at?: number}} more */
export async function reportTroubles(state, course, kinds, { details = {}, others = [], also = () => {}, at = Date.now() } = {}) {
  const items = kinds.map((kind) => make.trouble(course.id, kind, details, context(state), at));
  /** @param {string} kind */
  const stops = (kind) => Boolean(troubleOf(state.plan.body, course, kind)?.stop);
  await enterOrHold([...items, ...others], items.map((item) => report(item, stops(item.kind))), also);
  return items;
}

/** Reports are not lost where the phone has no room for them: this page holds them, and sends them from its memory.
    @param {Item[]} items @param {TroubleReport[]} reports @param {(stores: Stores) => void} also */
async function enterOrHold(items, reports, also) {
  try {
    await enter(items, (stores) => {
      for (const each of reports) stores.reports.put(each, each.id);
      also(stores);
    });
  } catch (error) {
    if (!reports.length) throw error;
    hold(items, reports);
  }
}

/** @param {TroubleItem | HandItem} item @param {boolean} stops @param {string | null} question @returns {TroubleReport} */
const report = (item, stops, question = null) => ({
  id: item.id, course: item.course, kind: "kind" in item ? item.kind : "not_my_hand", at: item.entered_at, offset_ms: item.offset_ms,
  stops, question, acked_seq: null, taken_back: false,
});

/** 'Pressed by mistake': the report is kept, and told to be taken back.
    @param {State} state @param {TroubleReport} report @param {number} at */
export function takeBack(state, report, at = Date.now()) {
  const item = make.takenBack(report.course, report.id, context(state), at);
  return enter([item], (stores) => stores.reports.put({ ...report, taken_back: true, back_acked_seq: null }, report.id));
}

/** The answer to 'Is this your hand?'; a 'no' stops everything here at once.
    @param {State} state @param {Course & {hand_question: HandQuestion}} course @param {'yes' | 'no'} answer @param {number} at */
export function answerHand(state, course, answer, at = Date.now()) {
  const item = make.handAnswer(course.id, course.hand_question.id, answer, context(state), at);
  return enterOrHold([item], answer === "no" ? [report(item, true, item.question)] : [], (stores) => {
    stores.kept.put({ ...state.hands, [course.id]: { question: item.question, answer } }, "hands");
  });
}

/** The answer to 'Anything wrong since your visit?'.
    @param {State} state @param {Course & {release_question: ReleaseQuestion}} course @param {'nothing' | 'something'} answer @param {number} at */
export function answerRelease(state, course, answer, at = Date.now()) {
  const item = make.releaseAnswer(course.id, course.release_question.id, answer, context(state), at);
  const said = { release: item.release, answer, item: item.id, acked_seq: null };
  return enter([item], (stores) => stores.kept.put({ ...state.releases, [course.id]: said }, "releases"));
}

/** That 'All well?' was asked on a course day, once even if two drawings of the screen say so; `now` is the server's time in ms.
    @param {State} state @param {Course} course @param {string | null} day @param {number} now @param {number} at */
export function askAllWell(state, course, day, now, at = Date.now()) {
  const item = make.allWell(course.id, null, null, null, context(state), at);
  return transact("readwrite", (stores) => {
    const kept = stores.kept.get("wells");
    kept.onsuccess = () => {
      const wells = kept.result ?? {};
      if (wells[course.id]?.id !== state.wells[course.id]?.id) return;   // asked since this state was read
      stores.outbox.put({ item }, item.id);
      stores.kept.put({ ...wells, [course.id]: { id: item.id, day, at: now, answer: null } }, "wells");
    };
  });
}

/** What was answered to it; `pain` where sore was said. Where no asking stands, because it was not kept, it is told now.
    @param {State} state @param {Course} course @param {WellAnswer} answer @param {number | null} pain @param {string | null} day @param {number} now @param {number} at */
export function answerAllWell(state, course, answer, pain, day, now, at = Date.now()) {
  const kept = state.wells[course.id];
  const asking = make.allWell(course.id, null, null, null, context(state), at);
  const stands = kept && !kept.answer ? kept : { id: asking.id, day };
  const item = make.allWell(course.id, stands.id, answer, pain, context(state), at);
  return enter(stands === kept ? [item] : [asking, item], (stores) => stores.kept.put({ ...state.wells, [course.id]: { ...stands, answer, at: now } }, "wells"));
}

/** The daily check with the troubles its answers report; resolves with those.
    @param {WithPlan} state @param {Course} course @param {Check} check @param {CheckSaid} said @param {string[]} kinds @param {number} at */
export function answerCheck(state, course, check, said, kinds, at = Date.now()) {
  const item = make.dailyCheck(course.id, check.day, said, context(state), at);
  const checked = [...state.checked.slice(-20), `${course.id} ${check.day}`];
  const details = { from: "daily_check", day: check.day };
  return reportTroubles(state, course, kinds, { details, others: [item], also: (stores) => stores.kept.put(checked, "checked"), at });
}

/** 'I have read this' of the cautions in force.
    @param {State} state @param {Course} course @param {Phase} phase @param {number} at */
export function markRead(state, course, phase, at = Date.now()) {
  const item = make.read(course.id, phase.key, context(state), at);
  return enter([item], (stores) => stores.kept.put({ ...state.reads, [course.id]: readMark(phase) }, "reads"));
}

/** What is read: one mark for each stage and version of its cautions.
    @param {Phase} phase */
export const readMark = (phase) => `${phase.key} ${phase.caution_version}`;

/** Wishes for quiet, or ends of them, together. What is quiet for a while is kept here too: no question comes meanwhile.
    @param {State} state @param {Course} course @param {WishSaid[]} wishes @param {number} at */
export function beQuiet(state, course, wishes, at = Date.now()) {
  const items = wishes.map((wish) => make.quiet(course.id, wish, context(state), at));
  const short = items.find((item) => item.until);
  const over = items.some((item) => item.ends && item.ends === state.quiet?.id);
  return enter(items, (stores) => {
    if (over) stores.kept.delete("quiet");
    if (short) stores.kept.put({ id: short.id, kind: short.kind, from: iso(at + state.offset_ms), until: short.until }, "quiet");
  });
}

/** Use this phone's zone for the plan from now on.
    @param {State} state @param {Course} course @param {number} at */
export function sayZone(state, course, at = Date.now()) {
  const zone = phoneZone();
  return enter([make.zoneSaid(course.id, zone, context(state), at)], (stores) => stores.kept.put({ ...state.said, zone }, "said"));
}

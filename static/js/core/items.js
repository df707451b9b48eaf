/* What the phone sends: each act one item with its own id, never edited. */

import { iso } from "./clock.js";
import { uuid7 } from "./uuid7.js";

/** What the items of this state carry besides their own fields.
    @param {State} state @param {string} zone @returns {Context} */
export function contextOf(state, zone) {
  return {
    offset_ms: state.offset_ms, zone, plan_version: state.plan?.body.version ?? null,
    logged_by: state.device?.whose === "carer" ? "carer" : "patient",
  };
}

/** The fields every item has. `at` is the device's clock in ms.
    @template {Item["type"]} T @param {T} type @param {string} course @param {Context} context @param {number} at */
function base(type, course, context, at) {
  return { id: uuid7(at), type, course, entered_at: iso(at), offset_ms: context.offset_ms, zone: context.zone };
}

/** A bout. `slotStart` makes it a fill-in, which names no minute.
    @param {string} course @param {Go} go @param {Context} context @param {number} at @returns {BoutItem} */
export function bout(course, go, context, at) {
  return {
    ...base("bout", course, context, at),
    exercise: go.exercise, amount: go.amount, unit: go.unit, how: go.how,
    pain: go.pain ?? null, pain_asked: Boolean(go.pain_asked),
    ...(go.slot_start ? { slot_start: go.slot_start, done_at: null } : { slot_start: null, done_at: iso(go.done_at ?? at) }),
    plan_version: context.plan_version, supersedes: go.supersedes ?? null, logged_by: context.logged_by,
  };
}

/** @param {string} course @param {string} day @param {CheckSaid} said @param {Context} context @param {number} at @returns {CheckItem} */
export const dailyCheck = (course, day, said, context, at) => ({
  ...base("daily_check", course, context, at), day, answers: said.answers, details: said.details, average_pain: said.average_pain ?? null,
});

/** @param {string} course @param {string} kind @param {TroubleDetails} details @param {Context} context @param {number} at @returns {TroubleItem} */
export const trouble = (course, kind, details, context, at) => ({ ...base("trouble", course, context, at), kind, details });

/** @param {string} course @param {string} troubleId @param {Context} context @param {number} at @returns {TakenBackItem} */
export const takenBack = (course, troubleId, context, at) => ({ ...base("taken_back", course, context, at), trouble: troubleId });

/** @param {string} course @param {string} question @param {'yes' | 'no'} answer @param {Context} context @param {number} at @returns {HandItem} */
export const handAnswer = (course, question, answer, context, at) => ({ ...base("hand_answer", course, context, at), question, answer });

/** @param {string} course @param {string} release @param {'nothing' | 'something'} answer @param {Context} context @param {number} at @returns {ReleaseItem} */
export const releaseAnswer = (course, release, answer, context, at) => ({ ...base("release_answer", course, context, at), release, answer });

/** 'All well?': first that it was asked (no answer, its own id), then what was answered.
    @param {string} course @param {string | null} asked @param {WellAnswer | null} answer @param {number | null} pain @param {Context} context @param {number} at
    @returns {WellItem} */
export function allWell(course, asked, answer, pain, context, at) {
  const item = base("all_well", course, context, at);
  return { ...item, asked: asked ?? item.id, answer, pain };
}

/** A wish for quiet, or the end of one: {kind, until} | {kind, weekday, opens, closes} | {kind, fewer} | {kind: "end", ends}.
    @param {string} course @param {WishSaid} wish @param {Context} context @param {number} at @returns {QuietItem} */
export const quiet = (course, wish, context, at) => ({ ...base("quiet", course, context, at), ...wish });

/** @param {string} course @param {string} phase @param {Context} context @param {number} at @returns {ReadItem} */
export const read = (course, phase, context, at) => ({
  ...base("read", course, context, at), what: "cautions", phase, plan_version: context.plan_version,
});

/** @param {string} course @param {string} zone @param {Context} context @param {number} at @returns {ZoneItem} */
export const zoneSaid = (course, zone, context, at) => ({ ...base("zone_said", course, context, at), zone });

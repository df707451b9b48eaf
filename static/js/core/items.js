/* What the phone sends: each act one item with its own id, never edited. */

import { iso } from "./clock.js";
import { uuid7 } from "./uuid7.js";

/** The fields every item has. `at` is the device's clock in ms. */
function base(type, course, context, at) {
  return { id: uuid7(at), type, course, entered_at: iso(at), offset_ms: context.offset_ms, zone: context.zone };
}

/** A bout. `slotStart` makes it a fill-in, which names no minute. */
export function bout(course, go, context, at) {
  return {
    ...base("bout", course, context, at),
    exercise: go.exercise, amount: go.amount, unit: go.unit, how: go.how,
    pain: go.pain ?? null, pain_asked: Boolean(go.pain_asked),
    done_at: go.slot_start ? null : iso(go.done_at ?? at), slot_start: go.slot_start ?? null,
    plan_version: context.plan_version, supersedes: go.supersedes ?? null, logged_by: context.logged_by,
  };
}

export const dailyCheck = (course, day, said, context, at) => ({
  ...base("daily_check", course, context, at), day, answers: said.answers, details: said.details, average_pain: said.average_pain ?? null,
});

export const trouble = (course, kind, details, context, at) => ({ ...base("trouble", course, context, at), kind, details });

export const takenBack = (course, troubleId, context, at) => ({ ...base("taken_back", course, context, at), trouble: troubleId });

export const handAnswer = (course, question, answer, context, at) => ({ ...base("hand_answer", course, context, at), question, answer });

export const releaseAnswer = (course, release, answer, context, at) => ({ ...base("release_answer", course, context, at), release, answer });

/** 'All well?': first that it was asked (no answer, its own id), then what was answered. */
export function allWell(course, asked, answer, pain, context, at) {
  const item = base("all_well", course, context, at);
  return { ...item, asked: asked ?? item.id, answer, pain };
}

/** A wish for quiet, or the end of one: {kind, until} | {kind, weekday, opens, closes} | {kind, fewer} | {kind: "end", ends}. */
export const quiet = (course, wish, context, at) => ({ ...base("quiet", course, context, at), ...wish });

export const read = (course, phase, context, at) => ({
  ...base("read", course, context, at), what: "cautions", phase, plan_version: context.plan_version,
});

export const zoneSaid = (course, zone, context, at) => ({ ...base("zone_said", course, context, at), zone });

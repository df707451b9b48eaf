/* Which screen is home: what a phone in this state must show before anything else. */

import { releaseQuestion } from "./release.js";
import { holding, resting, stopOf } from "./stop.js";

/** The name of the home screen of one course. `at` is {now, online, allWell: whether to ask of a course, putOff: questions left for later, first: whether the first minutes lead}.
    @param {Course} course @param {State} state @param {At} at */
export function homeOf(course, state, at) {
  const planSeq = state.plan.seq;
  const mine = holding(state.reports, course.id);
  if (mine.some((stop) => stop.kind === "not_my_hand")) return "stop";
  if (course.state === "closed") return "closed";
  const asked = course.hand_question && state.hands[course.id]?.question !== course.hand_question.id;
  if (asked) return "hand";
  if (stopOf(course, state.reports, planSeq)) return "stop";
  if (resting(state.reports, course.id)) return "rests";
  if (course.state !== "confirmed") return "before";
  if (at.first?.()) return "first";
  const question = releaseQuestion(course, state, at);
  if (question && !at.putOff.has(question.id)) return "release";
  return at.allWell(course) && !at.putOff.has(`well ${course.id}`) ? "well" : "now";
}

/** The name of the home screen of the phone; with several open courses the choice of hand comes first.
    @param {State} state @param {At} at @param {string | null} chosen */
export function home(state, at, chosen = null) {
  if (state.ended) return state.ended === "not_paired" && !state.plan ? "pair" : "revoked";
  if (!state.device) return "pair";
  if (!state.plan) return "waiting";
  const { courses, closed } = state.plan.body;
  if (closed) return "closed";
  if (!courses.length) return "before";
  if (courses.length === 1) return homeOf(courses[0], state, at);
  const course = courses.find((each) => each.id === chosen);
  return course ? homeOf(course, state, at) : "choose";
}

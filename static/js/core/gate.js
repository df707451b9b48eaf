/* Which screen is home: what a phone in this state must show before anything else. */

import { releaseQuestion } from "./release.js";
import { doable, holding, resting, stopOf } from "./stop.js";

const EXERCISE = ["count", "extra"];
const DOABLE = ["now", "release", "well"];   // a question does not take the exercises away
const ALWAYS = ["pair", "scan", "numbers"];
/** @type {Record<string, string[] | undefined>} */
const NO_COURSE = { pair: [], revoked: ["menu"], closed: ["menu", "unpair", "refused"] };   // and what may be shown besides
const OF_COURSE = ["amend", "asks", "check", "count", "extra", "fill", "pain", "pictures", "release", "saved", "sore", "text", "well", "wrong"];

/** The name of the home screen of one course. `at` is {now, online, allWell: whether to ask of a course, putOff: questions left for later, first: whether the first minutes lead}.
    @param {Course} course @param {WithPlan} state @param {At} at */
export function homeOf(course, state, at) {
  const planSeq = state.plan.seq;
  const mine = holding(state.reports, course.id);
  if (mine.some((stop) => stop.kind === "not_my_hand")) return "stop";
  if (course.state === "closed") return "closed";
  if (mine.length) return "stop";   // what was just reported is answered before anything is asked
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

/** The screen that may be shown where one is asked for, by the app or by the phone's Back; `course` is the one on the screen.
    Back must not lead to an exercise that is stopped by now, nor to a screen whose plan, course or question is gone.
    @param {string} name @param {State} state @param {At} at @param {Course | null} course */
export function allowed(name, state, at, course) {
  const first = home(state, at, course?.id);
  const besides = state.plan ? NO_COURSE[first] : [];
  if (besides && ![...ALWAYS, ...besides].includes(name)) return first;
  if (!course && OF_COURSE.includes(name) || name === "release" && !course?.release_question) return first;
  const may = course && DOABLE.includes(first) && doable(course).length;
  return name === "home" || (EXERCISE.includes(name) && !may) ? first : name;
}

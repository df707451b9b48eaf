/* 'Anything wrong since your visit?': the next stage begins with the answer, and not before the server says so. */

import { ms } from "./clock.js";

/** The question to show now, or null. It needs the clinic at hand: an answer that arrives late begins nothing.
    @param {Course} course @param {WithPlan} state @param {{now: number, online: boolean}} given */
export function releaseQuestion(course, state, { now, online }) {
  const asked = course.release_question;
  if (!asked || !online || now < (asked.from ? ms(asked.from) : 0)) return null;
  return onItsWay(course, state) ? null : asked;
}

/** The answer that this plan has not seen yet, or null.
    @param {Course} course @param {WithPlan} state */
export function onItsWay(course, state) {
  const said = state.releases?.[course.id];
  if (!said || said.release !== course.release_question?.id) return null;
  return said.acked_seq == null || said.acked_seq > state.plan.seq ? said : null;
}

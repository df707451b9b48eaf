/* Stop flags: set here at once, lifted only by a plan that knew of them (lifted.js). */

import { MINUTE, ms } from "./clock.js";

/** The stops of this phone that still hold for a course.
    @param {TroubleReport[]} reports @param {string} courseId */
export function holding(reports, courseId) {
  return reports.filter((report) => report.stops && report.course === courseId && !report.taken_back);
}

/** 'I was told something different', until a plan has seen it: no stop, but the exercises rest. From then on the plan asks for none.
    @param {TroubleReport[]} reports @param {string} courseId */
export const resting = (reports, courseId) => reports.some((report) => report.kind === "told_different" && report.course === courseId && !report.taken_back);

/** The server's stop, unless it is of a report taken back here which the plan has not seen taken back yet.
    @param {Course} course @param {TroubleReport[]} stops @param {number} planSeq */
export function serverStop(course, stops, planSeq) {
  const told = course.stop;
  if (!told) return null;
  const mine = stops.find((stop) => stop.course === course.id && stop.taken_back && stop.kind === told.kind
    && (stop.back_acked_seq == null || stop.back_acked_seq > planSeq)
    && ms(told.since) >= ms(stop.at) + (stop.offset_ms ?? 0) - MINUTE);
  return mine ? null : told;
}

/** What stops the exercises of a course, a report of this phone or the server's word, or null.
    @param {Course} course @param {TroubleReport[]} stops @param {number} planSeq */
export const stopOf = (course, stops, planSeq) => holding(stops, course.id)[0] ?? serverStop(course, stops, planSeq);

/** Whether exercises may be shown as something to do.
    @param {Course} course @param {WithPlan} state */
export const mayExercise = (course, { reports, plan }) => !stopOf(course, reports, plan.seq) && !resting(reports, course.id);

/** The exercises that may be done: none that is held, as by a pause.
    @param {Course} course */
export const doable = (course) => course.exercises.filter((each) => !each.held);

/** Until when 'Pressed by mistake' is offered, ms of the device's clock.
    @param {TroubleReport} report @param {Rules} rules */
export const takeBackUntil = (report, rules) => ms(report.at) + rules.take_back_minutes * MINUTE;

/** Whether 'Pressed by mistake' may be offered; device clock.
    @param {TroubleReport} report @param {Trouble | undefined} trouble @param {number} deviceNow @param {Rules} rules */
export function canTakeBack(report, trouble, deviceNow, rules) {
  return Boolean(trouble?.mistake_allowed) && !report.taken_back && deviceNow <= takeBackUntil(report, rules);
}

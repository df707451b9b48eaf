/* Stop flags: set here at once, lifted only by a plan that knew of them. */

import { MINUTE, ms } from "./clock.js";

/** A local stop stays until its report was acknowledged before a plan was fetched that has no stop.
    @param {TroubleReport} stop @param {Course | undefined} course @param {number} planSeq */
export function lifted(stop, course, planSeq) {
  if (stop.taken_back) return stop.back_acked_seq != null && stop.back_acked_seq <= planSeq;
  const known = stop.acked_seq != null && stop.acked_seq <= planSeq;
  if (known && !stop.stops) return true;   // a report that stops nothing needs no resuming
  if (!known || !course || course.stop) return false;
  return stop.question ? course.hand_question?.id !== stop.question : true;
}

/** The stops of this phone that still hold for a course.
    @param {TroubleReport[]} reports @param {string} courseId */
export function holding(reports, courseId) {
  return reports.filter((report) => report.stops && report.course === courseId && !report.taken_back);
}

/** 'I was told something different', until a plan has seen it: no stop, but the exercises rest. From then on the plan asks for none. */
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

/** What stops the exercises of a course: {kind, lines, at, local} or null.
    @param {Course} course @param {TroubleReport[]} stops @param {number} planSeq */
export function stopOf(course, stops, planSeq) {
  const own = holding(stops, course.id).sort((a, b) => ms(b.at) - ms(a.at))[0];
  if (own) return { kind: own.kind, at: own.at, local: own, lines: null };
  const told = serverStop(course, stops, planSeq);
  return told ? { kind: told.kind, at: told.since, local: null, lines: told.lines } : null;
}

/** Whether exercises may be shown as something to do.
    @param {Course} course @param {WithPlan} state */
export const mayExercise = (course, { reports, plan }) => !stopOf(course, reports, plan.seq) && !resting(reports, course.id);

/** The exercises that may be done: none that is held, as by a pause.
    @param {Course} course */
export const doable = (course) => course.exercises.filter((each) => !each.held);

/** Until when 'Pressed by mistake' is offered, ms of the device's clock.
    @param {TroubleReport} report @param {Rules} rules */
export const takeBackUntil = (report, rules) => ms(report.at) + rules.take_back_minutes * MINUTE;

/** Whether 'Pressed by mistake' may be offered; device clock. */
export function canTakeBack(report, trouble, deviceNow, rules) {
  return Boolean(trouble?.mistake_allowed) && !report.taken_back && deviceNow <= takeBackUntil(report, rules);
}

/* What is due, what comes next, what can still be filled in, and the day hour by hour. */

import { HOUR, MINUTE, ms } from "./clock.js";
import { current, loggedIn, reached, standing } from "./standing.js";

/** Slots open now whose dose is not logged yet, the leading exercise first.
    @param {Course} course @param {Log} log @param {number} now */
export function due(course, log, now) {
  const open = course.slots.filter((slot) => ms(slot.start) <= now && now < ms(slot.end) && slot.standing !== "excused");
  const wanting = open.filter((slot) => !reached(slot, log));
  return wanting.sort((a, b) => order(course, a) - order(course, b));
}

/** What is left of a slot's dose: never the whole again where some is logged.
    @param {Slot} slot @param {Log} log */
export const left = (slot, log) => Math.max(1, slot.amount - loggedIn(slot, log));

/** @param {Course} course @param {Slot} slot */
function order(course, slot) {
  const place = course.exercises.findIndex((exercise) => exercise.key === slot.exercise);
  return course.exercises[place]?.leading ? -1 : place;
}

/** The next slots to start: those that begin within 10 min of the first one after now.
    @param {Course} course @param {number} now */
export function next(course, now) {
  const ahead = course.slots.filter((slot) => ms(slot.start) > now && slot.standing !== "excused");
  ahead.sort((a, b) => ms(a.start) - ms(b.start));
  return ahead.filter((slot) => ms(slot.start) < ms(ahead[0].start) + 10 * MINUTE);
}

/** Ended slots, newest first, that are not logged and not too old to be filled in.
    @param {Course} course @param {Log} log @param {number} now */
export function fillable(course, log, now) {
  const ended = course.slots.filter((slot) => ms(slot.end) <= now && now <= ms(slot.end) + log.rules.fill_in_hours * HOUR);
  const open = ended.filter((slot) => ["part", "ahead", "not_logged", "unknown"].includes(standing(slot, log, now).sign));
  return open.sort((a, b) => ms(b.start) - ms(a.start));
}

/** When a bout was done; of one filled in, when its slot began.
    @param {Bout} bout */
export const doneAt = (bout) => (bout.done_at === null ? ms(bout.slot_start) : ms(bout.done_at) + (bout.offset_ms ?? 0));

/** What was logged on this phone and may still be put right, newest first; a later entry stands for the one it replaces.
    @param {Course} course @param {Log} log @param {number} now */
export function amendable(course, log, now) {
  /** @param {Bout} bout */
  const practised = (bout) => course.exercises.find((exercise) => exercise.key === bout.exercise)?.rehearsal;
  const mine = current(log.bouts).filter((bout) => bout.amount && bout.course === course.id && !practised(bout) && now - doneAt(bout) <= log.rules.fill_in_hours * HOUR);
  return mine.map((bout) => ({ bout, at: doneAt(bout) })).sort((a, b) => b.at - a.at);
}

/** The course day now lies in: that of the slot that began last, or of the next one.
    @param {Course} course @param {number} now */
export function today(course, now) {
  const slots = [...course.slots].sort((a, b) => ms(a.start) - ms(b.start));
  const begun = slots.filter((slot) => ms(slot.start) <= now).at(-1);
  const ahead = slots.find((slot) => ms(slot.start) > now);
  if (begun && ahead && ahead.day !== begun.day && ms(ahead.start) - now < now - ms(begun.end) && ms(ahead.start) - now < 2 * HOUR) return ahead.day;
  return (begun ?? ahead)?.day ?? null;
}

/** The exercise that leads, or the first that has slots; a rehearsal is never counted.
    @param {Course} course */
export function leading(course) {
  /** @param {Exercise} exercise */
  const timed = (exercise) => !exercise.rehearsal && course.slots.some((slot) => slot.exercise === exercise.key);
  return course.exercises.find((exercise) => exercise.leading && timed(exercise)) ?? course.exercises.find(timed) ?? null;
}

/** [{slot, sign, open}] of one exercise on one course day, in order.
    @param {Course} course @param {string} exercise @param {string} day @param {Log} log @param {number} now */
export function hours(course, exercise, day, log, now) {
  return course.slots
    .filter((slot) => slot.exercise === exercise && slot.day === day)
    .sort((a, b) => ms(a.start) - ms(b.start))
    .map((slot) => ({ slot, ...standing(slot, log, now) }));
}

/** {sign: count} of a day, signs that are not there left out; a slot ahead that has begun is "open".
    @param {{sign: Sign, begun?: boolean}[]} cells */
export function tally(cells) {
  /** @type {Partial<Record<Sign | "open", number>>} */
  const counts = {};
  for (const { sign, begun } of cells) {
    const name = begun && sign === "ahead" ? "open" : sign;
    counts[name] = (counts[name] ?? 0) + 1;
  }
  return counts;
}

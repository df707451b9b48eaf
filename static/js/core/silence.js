/* 'All well?': asked after some waking hours without a log, once a day. */

import { HOUR, ms } from "./clock.js";
import { today } from "./day.js";
import { loggedIn } from "./standing.js";

const IN_A_ROW = 2;   // due, unmuted slots that ended without a log

/** Milliseconds of waking between two instants: the slots of the leading exercise tile the waking hours.
    @param {Slot[]} slots @param {number} from @param {number} to */
export function wakingBetween(slots, from, to) {
  return slots.reduce((sum, slot) => sum + Math.max(0, Math.min(ms(slot.end), to) - Math.max(ms(slot.start), from)), 0);
}

/** When something was last logged, as far as this phone knows; before that its first slot, or when it was linked.
    @param {Course} course @param {Log} log @param {number} now */
function lastLog(course, log, now) {
  const mine = log.bouts.filter((bout) => bout.course === course.id).map((bout) => ms(bout.entered_at) + (bout.offset_ms ?? 0));
  const told = course.slots.filter((slot) => slot.credited > 0).map((slot) => Math.min(ms(slot.end), now));
  const first = Math.min(...course.slots.map((slot) => ms(slot.start)));
  return Math.max(first, log.linked ?? 0, ...mine, ...told);
}

/** Slots of the exercise that leads; none where no exercise leads.
    @param {Course} course */
function leadingSlots(course) {
  const key = course.exercises?.find((exercise) => exercise.leading)?.key;
  return course.slots.filter((slot) => slot.exercise === key);
}

/** Whether the phone is to ask now. `quietIn(slot)`: muted here, which the plan may not know yet.
    @param {Course} course @param {Log} log @param {number} now @param {(slot: Slot) => boolean} quietIn */
export function silent(course, log, now, quietIn = () => false) {
  const slots = leadingSlots(course).filter((slot) => slot.standing !== "excused");
  if (!slots.length || wakingBetween(slots, lastLog(course, log, now), now) < log.rules.silence_waking_hours * HOUR) return false;
  const ended = slots.filter((slot) => ms(slot.end) > (log.linked ?? 0) && ms(slot.end) <= now && !slot.muted && !quietIn(slot)).sort((a, b) => ms(a.start) - ms(b.start));
  const last = ended.slice(-IN_A_ROW);
  return last.length === IN_A_ROW && last.every((slot) => loggedIn(slot, log) === 0);
}

/** Whether to show the question: asked and unanswered, or not asked yet today. After 'something is wrong' the hours count anew.
    @param {Course} course @param {Well | undefined} asked @param {Log} log @param {number} now @param {((slot: Slot) => boolean) | undefined} quietIn */
export function asksAllWell(course, asked, log, now, quietIn) {
  if (!silent(course, log, now, quietIn)) return false;
  if (!asked || asked.day !== today(course, now)) return true;
  if (!asked.answer) return true;
  return asked.answer === "something_wrong" && wakingBetween(leadingSlots(course), asked.at, now) >= log.rules.silence_waking_hours * HOUR;
}

/* When pain is asked, and when a figure opens the list of red flags; the figures of the plan decide. */

import { HOUR, ms } from "./clock.js";

const QUIET = 6 * HOUR;   // at most once in this time, unless the pain is higher by 2

/** Whether the bout of a go asks for pain: its slot says so; in no slot, the clinic's rule; a rehearsal is one tap. `at` is when it was done, in server time.
    @param {Course} course @param {Go} go @param {number} at @param {Rules} rules */
export function asksPain(course, go, at, rules) {
  if (!course.pain?.ask || course.exercises?.find((each) => each.key === go.exercise)?.rehearsal) return false;
  /** @param {Slot} slot */
  const of = (slot) => slot.exercise === go.exercise && (go.slot_start ? ms(slot.start) === ms(go.slot_start) : ms(slot.start) <= at && at < ms(slot.end));
  const slot = course.slots.find(of);
  return slot ? (slot.asks_pain ?? true) : rules.pain_each_bout;
}

/** Whether the pain alone asks for the list: at the flag, or risen over yesterday and high enough.
    @param {number | null} pain @param {PainRule} rule @returns {pain is number} */
export function redFlag(pain, rule) {
  if (pain === null || pain === undefined) return false;
  if (pain >= rule.red_flag_at) return true;
  return rule.yesterday !== null && pain - rule.yesterday >= rule.rise && pain >= rule.rise_floor;
}

/** Whether to open it now; `last` is {at, pain} of the last opening, or null.
    @param {number | null} pain @param {PainRule} rule @param {{at: number, pain: number} | null | undefined} last @param {number} now @returns {pain is number} */
export function opensList(pain, rule, last, now) {
  if (!redFlag(pain, rule)) return false;
  return !last || now - last.at >= QUIET || pain >= last.pain + 2;
}

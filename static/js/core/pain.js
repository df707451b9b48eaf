/* When a pain figure opens the list of red flags; the figures of the plan decide. */

import { HOUR } from "./clock.js";

const QUIET = 6 * HOUR;   // at most once in this time, unless the pain is higher by 2

/** Whether the pain alone asks for the list: at the flag, or risen over yesterday and high enough. */
export function redFlag(pain, rule) {
  if (pain === null || pain === undefined) return false;
  if (pain >= rule.red_flag_at) return true;
  return rule.yesterday !== null && pain - rule.yesterday >= rule.rise && pain >= rule.rise_floor;
}

/** Whether to open it now; `last` is {at, pain} of the last opening, or null. */
export function opensList(pain, rule, last, now) {
  if (!redFlag(pain, rule)) return false;
  return !last || now - last.at >= QUIET || pain >= last.pain + 2;
}

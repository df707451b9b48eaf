/* The standing of a slot on this phone: the server's, plus what was logged here since that plan was fetched. */

import { HOUR, MINUTE, ms } from "./clock.js";

export const GRACE = 45 * MINUTE;      // timely up to this long after the slot's end; clinic default
export const FILLABLE = 48 * HOUR;     // an ended slot can be filled in for this long; clinic default
export const ENOUGH = 0.8;             // share of the dose that reads as logged; clinic default
export const SIGNS = ["logged", "part", "later", "not_logged", "unknown", "excused", "ahead"];

/** Whether a bout of this phone is not in the plan yet: not acknowledged before the plan was asked for. */
export const unseen = (bout, planSeq) => bout.acked_seq == null || bout.acked_seq > planSeq;

/** Whether the bout belongs to the slot, by its slot_start or by the window its moment falls in. */
export function inSlot(bout, slot) {
  if (bout.exercise !== slot.exercise) return false;
  if (bout.slot_start) return ms(bout.slot_start) === ms(slot.start);
  const at = ms(bout.done_at) + (bout.offset_ms ?? 0);
  return ms(slot.start) <= at && at < ms(slot.end);
}

/** The bouts that count: those no later one supersedes. */
export function current(bouts) {
  const replaced = new Set(bouts.map((bout) => bout.supersedes).filter(Boolean));
  return bouts.filter((bout) => !replaced.has(bout.id));
}

/** How much is logged in the slot: the server's credit and this phone's unseen bouts. */
export function loggedIn(slot, bouts, planSeq) {
  const mine = current(bouts).filter((bout) => unseen(bout, planSeq) && inSlot(bout, slot));
  const replaced = bouts.filter((bout) => mine.some((next) => next.supersedes === bout.id) && !unseen(bout, planSeq));
  const sum = (list) => list.reduce((total, bout) => total + bout.amount, 0);
  return Math.max(0, slot.credited - sum(replaced)) + sum(mine);
}

/** {sign, open, total}: one of the seven signs at `now`, and whether the slot has begun and is not past. */
export function standing(slot, bouts, planSeq, now) {
  const total = loggedIn(slot, bouts, planSeq);
  const open = ms(slot.start) <= now && now < ms(slot.end);
  return { sign: sign(slot, bouts, planSeq, now, total), open, total };
}

function sign(slot, bouts, planSeq, now, total) {
  if (slot.standing === "excused") return "excused";
  if (total >= ENOUGH * slot.amount) return enteredLater(slot, bouts, planSeq) ? "later" : "logged";
  if (total > 0) return "part";
  if (now <= ms(slot.end) + GRACE) return "ahead";
  return slot.standing === "not_logged" ? "not_logged" : "unknown";
}

function enteredLater(slot, bouts, planSeq) {
  if (slot.standing === "logged" || slot.standing === "later") return slot.standing === "later";
  const late = (bout) => ms(bout.entered_at) + (bout.offset_ms ?? 0) > ms(slot.end) + GRACE;
  return current(bouts).some((bout) => unseen(bout, planSeq) && inSlot(bout, slot) && late(bout));
}

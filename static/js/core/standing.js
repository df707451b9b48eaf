/* The standing of a slot on this phone: the server's, plus what was logged here since that plan was fetched.
   `log` is what the phone knows of it: {bouts, seq of the plan, rules of the clinic}. */

import { MINUTE, ms } from "./clock.js";

/** @type {Sign[]} */
export const SIGNS = ["logged", "part", "later", "not_logged", "unknown", "excused", "ahead"];

/** Whether a bout of this phone is not in the plan yet: not acknowledged before the plan was asked for.
    @param {Bout} bout @param {number} planSeq */
const unseen = (bout, planSeq) => bout.acked_seq == null || bout.acked_seq > planSeq;

/** Whether the bout belongs to the slot, by its slot_start or by the window its moment falls in.
    @param {Bout} bout @param {Slot} slot */
export function inSlot(bout, slot) {
  if (bout.exercise !== slot.exercise) return false;
  if (bout.done_at === null) return ms(bout.slot_start) === ms(slot.start);
  const at = ms(bout.done_at) + (bout.offset_ms ?? 0);
  return ms(slot.start) <= at && at < ms(slot.end);
}

/** The bouts that count: those no later one supersedes.
    @param {Bout[]} bouts */
export function current(bouts) {
  const replaced = new Set(bouts.map((bout) => bout.supersedes).filter(Boolean));
  return bouts.filter((bout) => !replaced.has(bout.id));
}

/** How much is logged in the slot: the server's credit and this phone's unseen bouts.
    @param {Slot} slot @param {Log} given */
export function loggedIn(slot, { bouts, seq }) {
  const mine = current(bouts).filter((bout) => unseen(bout, seq) && inSlot(bout, slot));
  const replaced = bouts.filter((bout) => mine.some((next) => next.supersedes === bout.id) && !unseen(bout, seq));
  /** @param {Bout[]} list */
  const sum = (list) => list.reduce((total, bout) => total + bout.amount, 0);
  return Math.max(0, slot.credited - sum(replaced)) + sum(mine);
}

/** {sign, open, begun, total}: one of the seven signs at `now`, and whether the slot is on, or has begun.
    @param {Slot} slot @param {Log} log @param {number} now */
export function standing(slot, log, now) {
  const total = loggedIn(slot, log);
  const begun = ms(slot.start) <= now;
  return { sign: sign(slot, log, now, total), open: begun && now < ms(slot.end), begun, total };
}

/** The dose of a slot is reached, as the clinic counts it.
    @param {Slot} slot @param {Log} log */
export const reached = (slot, log) => loggedIn(slot, log) >= log.rules.done_share * slot.amount;

/** @param {Slot} slot @param {Log} log @param {number} now @param {number} total */
function sign(slot, log, now, total) {
  if (slot.standing === "excused") return "excused";
  if (reached(slot, log)) return enteredLater(slot, log) ? "later" : "logged";
  if (now <= timelyUntil(slot, log)) return "ahead";
  if (total > 0) return "part";
  return slot.standing === "not_logged" ? "not_logged" : "unknown";
}

/** @param {Slot} slot @param {Log} log */
const timelyUntil = (slot, log) => ms(slot.end) + log.rules.timely_minutes * MINUTE;

/** @param {Slot} slot @param {Log} log */
function enteredLater(slot, log) {
  if (slot.standing === "logged" || slot.standing === "later") return slot.standing === "later";
  /** @param {Bout} bout */
  const late = (bout) => ms(bout.entered_at) + (bout.offset_ms ?? 0) > timelyUntil(slot, log);
  return current(log.bouts).some((bout) => unseen(bout, log.seq) && inSlot(bout, slot) && late(bout));
}

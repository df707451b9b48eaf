/* The whole state of the phone, read from the store in one go; the page and the worker both read it so. */

import { HOUR } from "../core/clock.js";
import { sortOut } from "../core/apart.js";
import { change, readAll, rework, transact } from "./db.js";
import { dropHeld, letGo, withHeld } from "./held.js";
import { tell } from "./word.js";

const KEEP_BOUTS = 72 * HOUR;   // what the clinic has is kept here this long, to be shown

/** Keys of `kept` that are a patient's; the others (offset_ms, seq) are the phone's. */
const THEIRS = ["device", "plan", "ended", "hands", "reads", "checked", "quiet", "opened", "releases", "wells", "contact", "said", "ways", "words", "push", "first", "calendar", "calendar_now"];

/** Read the state.
    @returns {Promise<State>} */
export async function load() {
  const all = await readAll();
  const kept = Object.fromEntries(all.kept);
  return withHeld({
    device: kept.device ?? null, plan: kept.plan ?? null, ended: kept.ended ?? null, offset_ms: kept.offset_ms ?? 0,
    push: kept.push ?? null, hands: kept.hands ?? {}, reads: kept.reads ?? {}, checked: kept.checked ?? [], quiet: kept.quiet ?? null,
    opened: kept.opened ?? null, releases: kept.releases ?? {}, wells: kept.wells ?? {}, contact: kept.contact ?? null, said: kept.said ?? {}, ways: kept.ways ?? {}, words: kept.words ?? null,
    first: kept.first ?? null, calendar: kept.calendar ?? null, calendar_now: kept.calendar_now ?? null,
    outbox: all.outbox.map(([, entry]) => entry), bouts: all.bouts.map(([, bout]) => bout), reports: all.reports.map(([, report]) => report),
  });
}

/** What the items of this state carry besides their own fields.
    @param {State} state @param {string} zone @returns {Context} */
export function contextOf(state, zone) {
  return {
    offset_ms: state.offset_ms, zone, plan_version: state.plan?.body.version ?? null,
    logged_by: state.device?.whose === "carer" ? "carer" : "patient",
  };
}

/** Waiting items, refused ones left out.
    @param {State} state */
export const waiting = (state) => state.outbox.filter((entry) => !entry.refused).length;

/** A number that only grows: it orders acknowledgements and plans without trusting any clock. */
export const tick = () => change("seq", (last) => (last ?? 0) + 1);

/** @param {string} key @param {any} value */
export const keep = (key, value) => change(key, () => value);

/** Keep a newly fetched plan; stops it lifts and bouts it has taken in are let go in the same transaction.
    @param {Plan} plan @param {TroubleReport[]} lifted @param {number} now */
export async function keepPlan(plan, lifted, now) {
  await transact("readwrite", (stores) => {
    const request = stores.kept.get("plan");
    request.onsuccess = () => {
      if (request.result?.seq > plan.seq) return;   // asked for before it, and slower on its way
      stores.kept.put(plan, "plan");
      for (const stop of lifted) stores.reports.delete(stop.id);
      letSeenGo(stores, plan.seq, now - KEEP_BOUTS);
    };
  });
  letGo(lifted.map((stop) => stop.id));
  tell();
}

/** Delete bouts that the clinic has, a plan has taken in, and that were entered before an instant of the device's clock (ms).
    @param {Stores} stores @param {number} seq @param {number} before */
function letSeenGo(stores, seq, before) {
  const request = stores.bouts.openCursor();
  request.onsuccess = () => {
    const cursor = request.result;
    if (!cursor) return;
    const { acked_seq, entered_at } = cursor.value;
    if (acked_seq != null && acked_seq <= seq && Date.parse(entered_at) < before) cursor.delete();
    cursor.continue();
  };
}

/** Make room: bouts that the clinic has and the plan tells of are let go, however new. */
export async function trim() {
  const { plan } = await load();
  await transact("readwrite", (stores) => letSeenGo(stores, plan?.seq ?? -1, Infinity));
}

/** Link this phone: what is of these courses, and no more, is the patient's. `courses` are all of them, closed ones too.
    @param {Device} device @param {string[]} courses */
export async function link(device, courses) {
  await rework((held) => sortOut(held, courses), (stores, kept) => {
    const same = kept.plan?.body.courses.length && kept.plan.body.courses.every((course) => courses.includes(course.id));
    if (!same) for (const key of THEIRS) stores.kept.delete(key);
    for (const key of ["ended", "push"]) stores.kept.delete(key);   // reminders were the old link's
    stores.kept.put(device, "device");
    if (!same) dropHeld();
  });
  tell();
}

/** Forget the patient on this phone; what could not be sent is kept apart, for the same patient alone. */
export async function forget() {
  await rework((held) => sortOut(held, []), (stores) => { for (const key of THEIRS) stores.kept.delete(key); });
  dropHeld();
  tell();
}

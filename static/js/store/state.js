/* The whole state of the phone, read from the store in one go, and what the clinic's word does to it; the page and the worker
   both read and write it so. */

import { HOUR } from "../core/clock.js";
import { sortOut } from "../core/apart.js";
import { change, readAll, rework, transact } from "./db.js";
import { dropHeld, letGo, settleHeld, withHeld } from "./held.js";
import { tell } from "./word.js";

const KEEP_BOUTS = 72 * HOUR;   // what the clinic has is kept here this long, to be shown

/** @type {Theirs} What is kept of a patient, and what stands for it where nothing is; the rest (offset_ms, seq) is the phone's. */
const THEIRS = {
  device: null, plan: null, ended: null, push: null, hands: {}, reads: {}, checked: [], quiet: null, opened: null, releases: {}, wells: {},
  contact: null, said: {}, ways: {}, words: null, first: null, calendar: null, calendar_now: null,
};

/** Read the state.
    @returns {Promise<State>} */
export async function load() {
  const { kept, outbox, bouts, reports } = await readAll();
  /** @param {[any, any][]} list */
  const values = (list) => list.map(([, value]) => value);
  return withHeld({ offset_ms: 0, ...THEIRS, ...Object.fromEntries(kept), outbox: values(outbox), bouts: values(bouts), reports: values(reports) });
}

/** Waiting items, refused ones left out.
    @param {State} state */
export const waiting = (state) => state.outbox.filter((entry) => !entry.refused).length;

/** A number that only grows: it orders acknowledgements and plans without trusting any clock. */
export const tick = () => change("seq", (last) => (last ?? 0) + 1);

/** Keep one value. @template {keyof Phone} K @param {K} key @param {Phone[K]} value */
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
export function letSeenGo(stores, seq, before) {
  const request = stores.bouts.openCursor();
  request.onsuccess = () => {
    const cursor = request.result;
    if (!cursor) return;
    const { acked_seq, entered_at } = cursor.value;
    if (acked_seq != null && acked_seq <= seq && Date.parse(entered_at) < before) cursor.delete();
    cursor.continue();
  };
}

/** Delete what was acknowledged and mark what was refused; `seq` dates the acknowledgement.
    @param {Settled} settled @param {Item[]} items @param {number} seq */
export async function apply(settled, items, seq) {
  await transact("readwrite", (stores) => {
    for (const id of settled.gone) stores.outbox.delete(id);
    for (const item of items.filter((each) => settled.gone.includes(each.id))) acknowledge(stores, item, seq);
    for (const { id, code, message } of settled.refused) refuse(stores, id, { code, message });
    for (const item of items) if (item.type === "taken_back" && settled.refused.some(({ id }) => id === item.id)) edit(stores.reports, item.trouble, (stop) => ({ ...stop, taken_back: false }));
    for (const item of items) if (item.type === "release_answer") seenAnswer(stores, item, seq);
  });
  settleHeld(settled, seq);
  tell();
}

/** @param {Stores} stores @param {Item} item @param {number} seq */
function acknowledge(stores, item, seq) {
  if (item.type === "bout") edit(stores.bouts, item.id, (bout) => ({ ...bout, acked_seq: seq }));
  if (item.type === "trouble" || item.type === "hand_answer") edit(stores.reports, item.id, (stop) => ({ ...stop, acked_seq: seq }));
  if (item.type === "taken_back") edit(stores.reports, item.trouble, (stop) => ({ ...stop, back_acked_seq: seq }));
}

/** The question may be asked anew by a plan fetched after its answer was taken, or refused.
    @param {Stores} stores @param {ReleaseItem} item @param {number} seq */
function seenAnswer(stores, item, seq) {
  edit(stores.kept, "releases", (said) => (said[item.course]?.item === item.id ? { ...said, [item.course]: { ...said[item.course], acked_seq: seq } } : said));
}

/** @param {Stores} stores @param {string} id @param {Why} why */
function refuse(stores, id, why) {
  edit(stores.outbox, id, (entry) => ({ ...entry, refused: why }));
}

/** @param {IDBObjectStore} store @param {string} key @param {(value: any) => any} change */
function edit(store, key, change) {
  const request = store.get(key);
  request.onsuccess = () => { if (request.result) store.put(change(request.result), key); };
}

/** Link this phone: what is of these courses, and no more, is the patient's. `courses` are all of them, closed ones too.
    @param {Device} device @param {string[]} courses */
export async function link(device, courses) {
  await rework((held) => sortOut(held, courses), (stores, kept) => {
    const same = kept.plan?.body.courses.length && kept.plan.body.courses.every((course) => courses.includes(course.id));
    if (!same) for (const key in THEIRS) stores.kept.delete(key);
    for (const key of ["ended", "push"]) stores.kept.delete(key);   // reminders were the old link's
    stores.kept.put(device, "device");
    if (!same) dropHeld();
  });
  tell();
}

/** Forget the patient on this phone; what could not be sent is kept apart, for the same patient alone. */
export async function forget() {
  await rework((held) => sortOut(held, []), (stores) => { for (const key in THEIRS) stores.kept.delete(key); });
  dropHeld();
  tell();
}

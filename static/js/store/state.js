/* The whole state of the phone, read from the store in one go; the page and the worker both read it so. */

import { HOUR } from "../core/clock.js";
import { change, readAll, transact } from "./db.js";

const KEEP_BOUTS = 72 * HOUR;

/** Read the state. */
export async function load() {
  const all = await readAll();
  const kept = Object.fromEntries(all.kept);
  return {
    device: kept.device ?? null, plan: kept.plan ?? null, ended: kept.ended ?? null, offset_ms: kept.offset_ms ?? 0,
    push: kept.push ?? null, hands: kept.hands ?? {}, reads: kept.reads ?? {}, checked: kept.checked ?? [], quiet: kept.quiet ?? null,
    opened: kept.opened ?? null, releases: kept.releases ?? {}, wells: kept.wells ?? {}, contact: kept.contact ?? null, said: kept.said ?? {}, ways: kept.ways ?? {},
    outbox: all.outbox.map(([, entry]) => entry), bouts: all.bouts.map(([, bout]) => bout), reports: all.reports.map(([, report]) => report),
  };
}

/** What the items of this state carry besides their own fields. */
export function contextOf(state, zone) {
  return {
    offset_ms: state.offset_ms, zone, plan_version: state.plan?.body.version ?? null,
    logged_by: state.device?.whose === "carer" ? "carer" : "patient",
  };
}

/** Waiting items, refused ones left out. */
export const waiting = (state) => state.outbox.filter((entry) => !entry.refused).length;

/** A number that only grows: it orders acknowledgements and plans without trusting any clock. */
export const tick = () => change("seq", (last) => (last ?? 0) + 1);

export const keep = (key, value) => change(key, () => value);

/** Keep a newly fetched plan; stops it lifts and bouts it has taken in are let go in the same transaction. */
export function keepPlan(plan, lifted, now) {
  return transact("readwrite", (stores) => {
    stores.kept.put(plan, "plan");
    for (const stop of lifted) stores.reports.delete(stop.id);
    const request = stores.bouts.openCursor();
    request.onsuccess = () => {
      const cursor = request.result;
      if (!cursor) return;
      const { acked_seq, entered_at } = cursor.value;
      if (acked_seq != null && acked_seq <= plan.seq && now - Date.parse(entered_at) > KEEP_BOUTS) cursor.delete();
      cursor.continue();
    };
  });
}

/** Forget the patient's plan on this phone; what could not be sent stays. */
export function forget() {
  return transact("readwrite", (stores) => {
    for (const key of ["device", "plan", "ended", "hands", "reads", "checked", "quiet", "opened", "releases", "wells", "contact", "said", "ways"]) stores.kept.delete(key);
    stores.bouts.clear();
    stores.reports.clear();
  });
}

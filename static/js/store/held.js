/* Reports of trouble that could not be written: held in this page's memory until they are sent. Nothing else is: what is
   not on disk is said not to be saved. */

/** @type {Map<string, Entry>} */
const entries = new Map();
/** @type {Map<string, TroubleReport>} */
const reports = new Map();

/** @param {Item[]} items @param {TroubleReport[]} made */
export function hold(items, made) {
  for (const item of items) entries.set(item.id, { item, unsaved: true });
  for (const report of made) reports.set(report.id, report);
}

/** With what is held here added to a state.
    @param {State} state @returns {State} */
export function withHeld(state) {
  const more = [...reports.values()].filter((report) => !state.reports.some((each) => each.id === report.id));
  return { ...state, outbox: [...state.outbox, ...entries.values()], reports: [...state.reports, ...more] };
}

/** What the server said of them. @param {Settled} settled @param {number} seq */
export function settleHeld({ gone, refused }, seq) {
  for (const id of gone) {
    entries.delete(id);
    const report = reports.get(id);
    if (report) reports.set(id, { ...report, acked_seq: seq });
  }
  for (const { id, code, message } of refused) {
    const entry = entries.get(id);
    if (entry) entries.set(id, { ...entry, refused: { code, message } });
  }
}

/** Let go what a plan has lifted. @param {string[]} ids */
export function letGo(ids) {
  for (const id of ids) reports.delete(id);
}

/** Forget all of it: another patient's phone from now on. */
export function dropHeld() {
  entries.clear();
  reports.clear();
}

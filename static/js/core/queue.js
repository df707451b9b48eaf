/* The order of the outbox, its batches, and what an answer does to it. */

const FIRST = new Set(["trouble", "taken_back", "hand_answer"]);
export const MOST = 100;   // items in one upload

/** @param {Item} item */
const urgent = (item) => FIRST.has(item.type);

/** The next batch: trouble alone and first, in the order it was entered; refused items wait to be asked for.
    @param {Entry[]} entries @returns {Item[]} */
export function batch(entries) {
  const waiting = entries.filter((entry) => !entry.refused).map((entry) => entry.item);
  waiting.sort((a, b) => (a.id < b.id ? -1 : 1));
  const troubles = waiting.filter(urgent);
  return (troubles.length ? troubles : waiting).slice(0, MOST);
}

/** Urgent items the server could not store, though nothing is wrong with them: sent again each time all else is through.
    @param {Entry[]} entries */
export const unstored = (entries) => entries.filter((entry) => entry.refused?.code === "not_stored" && urgent(entry.item)).map((entry) => entry.item);

/** Sort the server's results into ids to delete and entries to keep as refused. Ids not named stay as they are.
    @param {{id: string}[]} items @param {Result[]} results @returns {Settled} */
export function settle(items, results) {
  const byId = new Map(results.map((result) => [result.id, result]));
  const gone = [];
  const refused = [];
  for (const item of items) {
    const result = byId.get(item.id);
    if (result?.result === "stored" || result?.result === "already") gone.push(item.id);
    if (result?.result === "refused") refused.push({ id: item.id, code: result.code ?? "refused", message: result.message ?? "" });
  }
  return { gone, refused };
}

const AGAIN = new Set([401, 403, 408, 425, 429]);   // says something of the phone or the hour, nothing of the items
const CHOKES = 3;   // failures in a row after which a batch is no longer sent whole

/** What becomes of a batch the server refused whole with this status: "later", "one_by_one", or "kept" as refused.
    @param {number} status @param {number} failures */
export function fate(status, failures) {
  if (status === 500 && failures >= CHOKES) return "one_by_one";
  return status >= 500 || AGAIN.has(status) ? "later" : "kept";
}

/** Wait before the next try after this many failures in a row, ms: 5 s doubling to 5 min.
    @param {number} failures */
export const backOff = (failures) => (failures ? Math.min(300_000, 5_000 * 2 ** (failures - 1)) : 0);

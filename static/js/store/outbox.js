/* The outbox: append, and delete only what the server named as stored. */

import { load } from "./state.js";
import { transact } from "./db.js";

/** Put items in the outbox, with what else must be true at the same moment; resolves when it is on disk. */
export function enter(items, also = () => {}) {
  return transact("readwrite", (stores) => {
    for (const item of items) stores.outbox.put({ item }, item.id);
    for (const bout of items.filter((item) => item.type === "bout")) stores.bouts.put({ ...bout, acked_seq: null }, bout.id);
    also(stores);
  });
}

/** Every entry: {item, refused?}. */
export const entries = async () => (await load()).outbox;

/** Delete what was acknowledged and mark what was refused; `seq` dates the acknowledgement. */
export function apply(settled, items, seq) {
  return transact("readwrite", (stores) => {
    for (const id of settled.gone) stores.outbox.delete(id);
    for (const item of items.filter((each) => settled.gone.includes(each.id))) acknowledge(stores, item, seq);
    for (const { id, code, message } of settled.refused) refuse(stores, id, { code, message });
    for (const item of items.filter((each) => each.type === "release_answer")) seenAnswer(stores, item, seq);
  });
}

function acknowledge(stores, item, seq) {
  if (item.type === "bout") edit(stores.bouts, item.id, (bout) => ({ ...bout, acked_seq: seq }));
  if (item.type === "trouble" || item.type === "hand_answer") edit(stores.reports, item.id, (stop) => ({ ...stop, acked_seq: seq }));
  if (item.type === "taken_back") edit(stores.reports, item.trouble, (stop) => ({ ...stop, back_acked_seq: seq }));
}

/** The question may be asked anew by a plan fetched after its answer was taken, or refused. */
function seenAnswer(stores, item, seq) {
  edit(stores.kept, "releases", (said) => (said[item.course]?.item === item.id ? { ...said, [item.course]: { ...said[item.course], acked_seq: seq } } : said));
}

function refuse(stores, id, why) {
  edit(stores.outbox, id, (entry) => ({ ...entry, refused: why }));
}

function edit(store, key, change) {
  const request = store.get(key);
  request.onsuccess = () => { if (request.result) store.put(change(request.result), key); };
}

/** Let refused items be sent once more, because the patient asked. */
export async function askAgain() {
  const refused = (await entries()).filter((entry) => entry.refused);
  await transact("readwrite", (stores) => { for (const { item } of refused) stores.outbox.put({ item }, item.id); });
}

/** Take a bout out that has not been sent; false when it was sent already. Needs the outbox's lock. */
export function withdraw(id) {
  return transact("readwrite", (stores) => {
    let there = false;
    const request = stores.outbox.get(id);
    request.onsuccess = () => {
      there = Boolean(request.result);
      if (!there) return;
      stores.outbox.delete(id);
      stores.bouts.delete(id);
    };
    return () => there;
  });
}

/* The outbox: append, and delete only what the server named as stored. */

import { isFull, transact } from "./db.js";
import { settleHeld } from "./held.js";
import { load, trim } from "./state.js";
import { tell } from "./word.js";

/** What was entered is not on this phone's disk, and not half of it is. */
export class NotSaved extends Error {
  /** @param {unknown} cause */
  constructor(cause) {
    super("What was entered could not be saved on this phone.", { cause });
    this.name = "NotSaved";
  }
}

/** Put items in the outbox, with what else must be true at the same moment; resolves when it is on disk.
    A full phone is given room once, by letting go of what the clinic has. Throws NotSaved.
    @param {Item[]} items @param {(stores: Stores) => void} also */
export async function enter(items, also = () => {}) {
  try {
    await writing(() => put(items, also).catch((error) => again(error, items, also)));
  } catch (error) {
    throw new NotSaved(error);
  }
  tell();
}

/** @param {any} error @param {Item[]} items @param {(stores: Stores) => void} also */
async function again(error, items, also) {
  if (!isFull(error)) throw error;
  await trim().catch(() => {});
  return put(items, also);
}

/** @param {Item[]} items @param {(stores: Stores) => void} also */
function put(items, also) {
  return transact("readwrite", (stores) => {
    for (const item of items) stores.outbox.put({ item }, item.id);
    for (const item of items) if (item.type === "bout") stores.bouts.put({ ...item, acked_seq: null }, item.id);
    also(stores);
  });
}

/** Several may write at once; a change of the app's version waits for all of them (see net/update.js).
    @param {() => Promise<any>} work */
const writing = (work) => (navigator.locks ? navigator.locks.request("writing", { mode: "shared" }, work) : work());

/** Every entry: {item, refused?}. */
export const entries = async () => (await load()).outbox;

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

/** Let refused items be sent once more, because the patient asked. */
export async function askAgain() {
  const refused = (await entries()).filter((entry) => entry.refused);
  await transact("readwrite", (stores) => { for (const { item } of refused) stores.outbox.put({ item }, item.id); });
  tell();
}

/** Take a bout out that has not been sent; false when it was sent already. Needs the outbox's lock.
    @param {string} id @returns {Promise<boolean>} */
export async function withdraw(id) {
  const was = await transact("readwrite", (stores) => {
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
  if (was) tell();
  return was;
}

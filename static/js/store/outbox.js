/* The outbox: append, and let the patient take out or ask again; what the server says of it is store/state.js's. */

import { transact } from "./db.js";
import { letSeenGo, load } from "./state.js";
import { tell } from "./word.js";

/** What was entered is not on this phone's disk, and not half of it is. */
class NotSaved extends Error {
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

/** Whether the phone had no room left.
    @param {any} error */
const isFull = (error) => error?.name === "QuotaExceededError";

/** @param {any} error @param {Item[]} items @param {(stores: Stores) => void} also */
async function again(error, items, also) {
  if (!isFull(error)) throw error;
  await trim().catch(() => {});
  return put(items, also);
}

/** Make room: bouts that the clinic has and the plan tells of are let go, however new. */
async function trim() {
  const { plan } = await load();
  await transact("readwrite", (stores) => letSeenGo(stores, plan?.seq ?? -1, Infinity));
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

/** Let refused items be sent once more, because the patient asked. */
export async function askAgain() {
  const refused = (await load()).outbox.filter((entry) => entry.refused);
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

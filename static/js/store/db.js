/* A thin wrapper of IndexedDB: strict durability, and one reopening when the connection is lost. */

const NAME = "homeprog";
const VERSION = 2;
/** @type {(keyof Held)[]} */
const ENTERED = ["outbox", "bouts", "reports", "apart"];
/** @type {(keyof Stores)[]} */
const STORES = ["kept", ...ENTERED];   // only ever added to: a page of an older version may be open
/** @type {Promise<IDBDatabase> | null} */
let opening = null;

function open() {
  opening ??= opened(VERSION).catch((error) => {
    if (error.name === "VersionError") return opened();   // a newer version of the app has been here: its stores hold ours
    throw error;
  }).catch((error) => {
    opening = null;
    throw error;
  });
  return opening;
}

/** @param {number} [version] @returns {Promise<IDBDatabase>} */
function opened(version) {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, version);
    request.onupgradeneeded = () => lay(request.result);
    request.onsuccess = () => resolve(watched(request.result));
    request.onerror = () => reject(request.error);
  });
}

/** Make the stores that are missing; what is there stays as it is.
    @param {IDBDatabase} db */
function lay(db) {
  for (const name of STORES) if (!db.objectStoreNames.contains(name)) db.createObjectStore(name);
}

/** @param {IDBDatabase} db */
function watched(db) {
  db.onclose = () => { opening = null; };
  db.onversionchange = () => { db.close(); opening = null; };
  return db;
}

/** Run `work(stores)` in one transaction; resolves with its result when the transaction is complete on disk.
    @template T @param {IDBTransactionMode} mode @param {(stores: Stores) => T} work @returns {Promise<Last<T>>} */
export async function transact(mode, work) {
  try {
    return await attempt(mode, work);
  } catch (error) {
    if (!lost(error)) throw error;
    opening = null;   // the system drops connections of sleeping pages; the handle must be made anew
    return attempt(mode, work);
  }
}

/** @template T @param {IDBTransactionMode} mode @param {(stores: Stores) => T} work @returns {Promise<Last<T>>} */
async function attempt(mode, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const tx = db.transaction(STORES, mode, { durability: "strict" });
    /** @type {any} */
    const stores = Object.fromEntries(STORES.map((name) => [name, tx.objectStore(name)]));
    /** @type {any} */
    let result;
    tx.oncomplete = () => resolve(typeof result === "function" ? result() : result);
    tx.onabort = () => reject(tx.error ?? new Error("The phone's store gave up."));
    try {
      result = work(stores);
    } catch (error) {
      reject(error);
      tx.abort();   // or what was put before it would be kept: half of what was entered
    }
  });
}

/** @param {any} error */
function lost(error) {
  return error?.name === "InvalidStateError" || error?.name === "UnknownError" || /connection/i.test(error?.message ?? "");
}

/** Everything of these stores, [[key, value]] each, to be asked for once their transaction is complete.
    @param {Stores} stores @param {(keyof Stores)[]} names @returns {() => Record<string, [any, any][]>} */
function allOf(stores, names) {
  const asked = names.map((name) => ({ name, keys: stores[name].getAllKeys(), values: stores[name].getAll() }));
  return () => Object.fromEntries(asked.map(({ name, keys, values }) => [name, keys.result.map((key, i) => [key, values.result[i]])]));
}

/** Read everything of every store but what is kept apart: {store: [[key, value]]}. */
export function readAll() {
  return transact("readonly", (stores) => allOf(stores, ["kept", "outbox", "bouts", "reports"]));
}

/** Read one value of `kept`, change it, and write it back, in one transaction; resolves with the new value.
    @template {keyof Phone} K @param {K} key @param {(value: any) => Phone[K] | undefined} edit @returns {Promise<Phone[K]>} */
export function change(key, edit) {
  return transact("readwrite", (stores) => {
    /** @type {any} */
    let value;
    const request = stores.kept.get(key);
    request.onsuccess = () => {
      value = edit(request.result) ?? null;   // what is kept is something or nothing, never undefined
      stores.kept.put(value, key);
    };
    return () => value;
  });
}

/** Put in order, in one transaction, all that is entered: `edit` takes what the stores hold and tells what they are to hold.
    `also(stores, kept)` may do more with what else is kept.
    @param {(held: Held) => Held} edit @param {(stores: Stores, kept: Partial<Theirs>) => void} also */
export function rework(edit, also) {
  return transact("readwrite", (stores) => {
    const all = allOf(stores, STORES);
    stores.kept.count().onsuccess = () => {   // asked for last: all before it is read by now
      const { kept, ...rest } = all();
      /** @type {any} */
      const values = Object.fromEntries(Object.entries(rest).map(([name, list]) => [name, list.map(([, value]) => value)]));
      const fresh = edit(values);
      for (const name of ENTERED) replace(stores[name], fresh[name]);
      also(stores, Object.fromEntries(kept));
    };
  });
}

/** @param {IDBObjectStore} store @param {any[]} list */
function replace(store, list) {
  store.clear();
  for (const each of list) store.put(each, each.id ?? (each.entry ?? each).item.id);
}

/* A thin wrapper of IndexedDB: strict durability, and one reopening when the connection is lost. */

const NAME = "homeprog";
const STORES = ["kept", "outbox", "bouts", "reports"];
let opening = null;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => STORES.forEach((name) => request.result.createObjectStore(name));
    request.onsuccess = () => resolve(watched(request.result));
    request.onerror = () => reject(request.error);
  }).catch((error) => {
    opening = null;
    throw error;
  });
  return opening;
}

function watched(db) {
  db.onclose = () => { opening = null; };
  db.onversionchange = () => { db.close(); opening = null; };
  return db;
}

/** Run `work(stores)` in one transaction; resolves with its result when the transaction is complete on disk. */
export async function transact(mode, work) {
  try {
    return await attempt(mode, work);
  } catch (error) {
    if (!lost(error)) throw error;
    opening = null;   // the system drops connections of sleeping pages; the handle must be made anew
    return attempt(mode, work);
  }
}

async function attempt(mode, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const tx = db.transaction(STORES, mode, { durability: "strict" });
    const stores = Object.fromEntries(STORES.map((name) => [name, tx.objectStore(name)]));
    let result;
    tx.oncomplete = () => resolve(typeof result === "function" ? result() : result);
    tx.onabort = () => reject(tx.error ?? new Error("The phone's store gave up."));
    result = work(stores);
  });
}

function lost(error) {
  return error?.name === "InvalidStateError" || error?.name === "UnknownError" || /connection/i.test(error?.message ?? "");
}

/** Read everything of every store: {store: [[key, value]]}. */
export function readAll() {
  return transact("readonly", (stores) => {
    const asked = STORES.map((name) => [name, stores[name].getAllKeys(), stores[name].getAll()]);
    return () => Object.fromEntries(asked.map(([name, keys, values]) => [name, keys.result.map((key, i) => [key, values.result[i]])]));
  });
}

/** Read one value of `kept`, change it, and write it back, in one transaction; resolves with the new value. */
export function change(key, edit) {
  return transact("readwrite", (stores) => {
    let value;
    const request = stores.kept.get(key);
    request.onsuccess = () => {
      value = edit(request.result);
      stores.kept.put(value, key);
    };
    return () => value;
  });
}

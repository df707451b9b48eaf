/* A new version of the app takes over only while nothing is being written or sent on this phone. */

import { alone } from "../store/word.js";

const EVERY_MS = 60 * 60_000;
let looked = Date.now();

/** Look for a new version, at most once in an hour: an app that is never closed would not look by itself.
    @param {ServiceWorkerRegistration | undefined} registration */
export function look(registration) {
  if (Date.now() - looked < EVERY_MS) return;
  looked = Date.now();
  registration?.update().catch(() => {});
}

/** Let a version that waits take over; resolves with whether one did. It waits for what is being written and sent.
    @param {ServiceWorkerRegistration | undefined} registration @returns {Promise<boolean>} */
export async function takeOver(registration) {
  const fresh = registration?.waiting;
  if (!fresh || !navigator.locks) return false;
  return alone(async () => navigator.locks.request("writing", () => activated(fresh)));
}

/** @param {ServiceWorker} worker @returns {Promise<boolean>} */
function activated(worker) {
  return new Promise((resolve) => {
    worker.addEventListener("statechange", () => { if (["activated", "redundant"].includes(worker.state)) resolve(worker.state === "activated"); });
    worker.postMessage({ kind: "take over" });
  });
}

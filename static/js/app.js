/* The phone app starts here. On a first visit the worker is let in before: it fetches the app in one file. */

const WAIT_MS = 5000;   // without it by then, the app comes file by file

/** @param {number} ms */
const later = (ms) => new Promise((resolve) => { setTimeout(resolve, ms); });

async function workerThere() {
  const worker = navigator.serviceWorker;
  if (!worker || worker.controller) return;
  const takes = new Promise((resolve) => { worker.addEventListener("controllerchange", resolve, { once: true }); });
  const registration = await worker.register("/phone/sw.js", { type: "module", scope: "/phone/", updateViaCache: "none" });
  const coming = registration.installing;
  if (!coming) return;   // it is there, and was passed over by a reload that wanted no cache
  const fails = new Promise((resolve) => { coming.addEventListener("statechange", () => { if (coming.state === "redundant") resolve(null); }); });
  await Promise.race([takes, fails, later(WAIT_MS)]);
}

await workerThere().catch(() => {});
const { start } = await import("./views/start.js");
start();

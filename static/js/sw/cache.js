/* The shell's cache: whole and versioned, so that one version never mixes with another. Answers of the API never enter. */

import { FILES, VERSION } from "./files.js";

const PREFIX = "homeprog-shell-";
const NAME = PREFIX + VERSION;

/** Fill the cache of this version; a single failure fails the installation. */
export async function fill() {
  const cache = await caches.open(NAME);
  await cache.addAll(FILES.map((path) => new Request(path, { cache: "reload" })));
}

/** Delete the caches of older versions. */
export async function sweep() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== NAME).map((name) => caches.delete(name)));
}

/** The kept file for a request, or null where the network alone may answer. */
export function kept(request) {
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return null;
  const path = request.mode === "navigate" && url.pathname === "/phone/" ? "/phone/" : url.pathname;
  if (!FILES.includes(path)) return null;
  return caches.open(NAME).then((cache) => cache.match(path)).then((hit) => hit ?? fetch(request));
}

/* The shell's cache: whole and versioned, so that one version never mixes with another. Answers of the API never enter. */

import { ALONE, PACKED, VERSION } from "./files.js";

const PREFIX = "homeprog-shell-";
const NAME = PREFIX + VERSION;
const WHOLE = "/phone/shell.json";   // scripts, phrases and signs in one file
const FILES = [...ALONE, ...PACKED];
/** @type {Record<string, string>} */
const TYPES = {
  html: "text/html", js: "text/javascript", css: "text/css", json: "application/json",
  webmanifest: "application/manifest+json", svg: "image/svg+xml", png: "image/png",
};

/** Fill the cache of this version; one failure, or an answer that is not the file asked for, fails the installation. */
export async function fill() {
  const [whole, ...answers] = await Promise.all([WHOLE, ...ALONE].map(fresh));
  const { version, parts } = await whole.json();
  if (version !== VERSION) throw new Error("The server has another version by now.");
  const all = [...answers, ...PACKED.map((path) => unpacked(path, parts[path]))];
  const cache = await caches.open(NAME);
  await Promise.all(FILES.map((path, i) => cache.put(path, all[i]))).catch(async (error) => {
    await caches.delete(NAME);   // half a shell is worse than none
    throw error;
  });
}

/** @param {string} path */
const typeOf = (path) => TYPES[path.split(".")[1] ?? "html"];

/** A file from the server; a page of repairs or of a network's login is none, whatever its status.
    @param {string} path */
async function fresh(path) {
  const answer = await fetch(path, { cache: "no-cache", redirect: "error" });   // asked after: the page has some of them already
  if (!answer.ok || !answer.headers.get("Content-Type")?.startsWith(typeOf(path))) throw new Error(`${path}: HTTP ${answer.status}`);
  return answer;
}

/** @param {string} path @param {string} text */
function unpacked(path, text) {
  if (typeof text !== "string") throw new Error(`${path} is missing.`);
  return new Response(text, { headers: { "Content-Type": typeOf(path) } });
}

/** Delete the caches of older versions. */
export async function sweep() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== NAME).map((name) => caches.delete(name)));
}

/** The kept file for a request, or null where the network alone may answer.
    @param {Request} request */
export function kept(request) {
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return null;
  const path = request.mode === "navigate" && url.pathname === "/phone/" ? "/phone/" : url.pathname;
  if (!FILES.includes(path)) return null;
  return caches.open(NAME).then((cache) => cache.match(path)).then((hit) => hit ?? fetch(request));
}

/* The shell's cache: whole and versioned, so that one version never mixes with another. Answers of the API never enter. */

import { FILES, VERSION } from "./files.js";

const PREFIX = "homeprog-shell-";
const NAME = PREFIX + VERSION;
const TYPES = { html: "text/html", js: "javascript", css: "css", json: "json", webmanifest: "manifest", svg: "svg", png: "png" };

/** Fill the cache of this version; one failure, or an answer that is not the file asked for, fails the installation. */
export async function fill() {
  const answers = await Promise.all(FILES.map(fresh));
  const list = answers[FILES.findIndex((path) => path.endsWith("/sw/files.js"))];
  if (!(await list.clone().text()).includes(VERSION)) throw new Error("The server has another version by now.");
  const cache = await caches.open(NAME);
  await Promise.all(FILES.map((path, i) => cache.put(path, answers[i]))).catch(async (error) => {
    await caches.delete(NAME);   // half a shell is worse than none
    throw error;
  });
}

/** A file from the server; a page of repairs or of a network's login is none, whatever its status. */
async function fresh(path) {
  const answer = await fetch(path, { cache: "reload", redirect: "error" });
  const type = TYPES[path.split(".")[1] ?? "html"];
  if (!answer.ok || !answer.headers.get("Content-Type")?.includes(type)) throw new Error(`${path}: HTTP ${answer.status}`);
  return answer;
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

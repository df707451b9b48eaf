/* What this phone's pages and its worker tell each other: that what is kept has changed, and whose turn it is. */

/** @type {BroadcastChannel | null} */
let channel = null;

const open = () => (channel ??= new BroadcastChannel("homeprog"));

/** Tell the others; this page or worker does not hear its own word. */
export const tell = () => open().postMessage({ kind: "changed" });

/** Hear the others.
    @param {(event: MessageEvent) => void} act */
export const hear = (act) => open().addEventListener("message", act);

/** Run `work` while no other page or worker sends, links, or changes the app's version.
    @template T @param {() => Promise<T>} work @returns {Promise<T>} */
export async function alone(work) {
  return navigator.locks ? navigator.locks.request("outbox", work) : work();
}

/* The word to this phone's other pages and its worker that what is kept has changed. */

/** @type {BroadcastChannel | null} */
let channel = null;

const open = () => (channel ??= new BroadcastChannel("homeprog"));

/** Tell the others; this page or worker does not hear its own word. */
export const tell = () => open().postMessage({ kind: "changed" });

/** Hear the others.
    @param {(event: MessageEvent) => void} act */
export const hear = (act) => open().addEventListener("message", act);

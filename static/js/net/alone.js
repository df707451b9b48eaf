/* One at a time over all pages and the worker of this phone. */

/** Run `work` while no other page or worker sends, links, or changes the app's version.
    @template T @param {() => Promise<T>} work @returns {Promise<T>} */
export async function alone(work) {
  return navigator.locks ? navigator.locks.request("outbox", work) : work();
}

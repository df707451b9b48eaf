/* A watch that can be paused. */

/** Start it; `read` gives ms on a clock that never jumps. */
export function startWatch(read = () => performance.now()) {
  let gone = 0;
  /** @type {number | null} */
  let since = read();
  const total = () => gone + (since === null ? 0 : read() - since);
  return {
    ms: total,
    minutes: () => Math.floor(total() / 60_000),
    running: () => since !== null,
    turn() {
      gone = total();
      since = since === null ? read() : null;
    },
  };
}

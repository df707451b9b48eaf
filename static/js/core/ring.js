/* Which number fits this hour. */

import { ms } from "./clock.js";

/** The entry whose half-open interval holds now; before the first the first, after the last the last.
    @param {Ring[]} ring @param {number} now */
export function ringAt(ring, now) {
  if (!ring?.length) return null;
  const hit = ring.find((entry) => ms(entry.from) <= now && now < ms(entry.to));
  if (hit) return hit;
  return now < ms(ring[0].from) ? ring[0] : ring.filter((entry) => ms(entry.from) <= now).at(-1);
}

/** A tel: address of a number as people write it.
    @param {string} tel */
export const telHref = (tel) => `tel:${String(tel).replace(/[^\d+*#]/g, "")}`;

/* Which number fits this hour. */

import { HOUR, ms } from "./clock.js";

const WEEK = 7 * 24 * HOUR;

/** The entry whose half-open interval holds now; before the first the first, after the last that of the same hour in its last week.
    @param {Ring[]} ring @param {number} now */
export function ringAt(ring, now) {
  if (!ring?.length) return null;
  const over = now - ms(ring[ring.length - 1].to);
  const at = over < 0 ? now : now - WEEK * (Math.floor(over / WEEK) + 1);
  return ring.findLast((entry) => ms(entry.from) <= at) ?? ring[0];
}

/** A tel: address of a number as people write it.
    @param {string} tel */
export const telHref = (tel) => `tel:${String(tel).replace(/[^\d+*#]/g, "")}`;

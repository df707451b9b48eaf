/* A calm count: each time goes through the exercise's own steps, each step some seconds long. */

import { heldSeconds } from "./speech.js";

const LEAD_S = 5;   // to put the phone down and the hand in place
const CALM_S = 4;   // seconds a step at the least; common practice, no source
const SLOW_S = 7;
const WORDS_A_SECOND = 2.5;   // a calm voice; common practice, no source

/** Seconds of each step: calm or slow, long enough to be said, and as long as its own words ask it to be held.
    @param {string[]} steps @param {boolean} slow */
export const stepLengths = (steps, slow) => (steps.length ? steps : [""]).map((words) => Math.max(
  slow ? SLOW_S : CALM_S, Math.ceil(words.split(/\s+/).length / WORDS_A_SECOND), (heldSeconds(words) ?? 0) + (slow ? 2 : 1),
));

/** Where a count stands `gone` ms after its start: {lead: seconds left, step: its index, second: of the step, time: the one under way, done}.
    @param {number} gone @param {{lengths: number[], amount: number, from?: number}} count */
export function paceAt(gone, { lengths, amount, from = 0 }) {
  const seconds = Math.floor(gone / 1000);
  const whole = lengths.reduce((sum, length) => sum + length, 0);
  if (seconds < LEAD_S) return { lead: LEAD_S - seconds, step: 0, second: 0, time: Math.min(amount, from + 1), done: from };
  const done = Math.min(amount, from + Math.floor((seconds - LEAD_S) / whole));
  const within = done === amount ? whole - 1 : (seconds - LEAD_S) % whole;
  return { lead: 0, ...stepAt(within, lengths), time: Math.min(amount, done + 1), done };
}

/** @param {number} within @param {number[]} lengths */
function stepAt(within, lengths) {
  let begun = 0;
  const step = lengths.findIndex((length) => {
    if (within < begun + length) return true;
    begun += length;
    return false;
  });
  return { step, second: within - begun };
}

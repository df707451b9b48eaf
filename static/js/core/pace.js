/* A calm count: each time goes through the exercise's own steps, each step a few seconds long. */

export const LEAD_S = 5;   // to put the phone down and the hand in place
export const CALM_S = 4;   // seconds a step; common practice, no source
export const SLOW_S = 7;

/** Where a count stands `gone` ms after its start: {lead: seconds left, step: its index, second: of the step, time: the one under way, done}. */
export function paceAt(gone, { steps, amount, step_s, from = 0 }) {
  const seconds = Math.floor(gone / 1000);
  if (seconds < LEAD_S) return { lead: LEAD_S - seconds, step: 0, second: 0, time: Math.min(amount, from + 1), done: from };
  const counted = seconds - LEAD_S;
  const done = Math.min(amount, from + Math.floor(counted / (steps * step_s)));
  const within = done === amount ? steps * step_s - 1 : counted % (steps * step_s);
  return { lead: 0, step: Math.floor(within / step_s), second: within % step_s, time: Math.min(amount, done + 1), done };
}

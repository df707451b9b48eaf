/* What the phone says of more than the dose: enough up to 1.5 times it, rest beyond. */

export const REST = 1.5;   // times the dose; clinic default

/** null, "enough" or "rest", for what is logged in a slot of this dose. A bout in no slot is always beyond it. */
export function excess(total, dose, inASlot = true) {
  if (total > REST * dose) return "rest";
  if (total > dose || !inASlot) return "enough";
  return null;
}

/* What the phone says of more than the dose: enough up to a number of times it, rest beyond. */

/** null, "enough" or "rest", for what is logged in a slot of this dose. A bout in no slot is always beyond it.
    @param {number} total @param {number} dose @param {Rules} rules @param {boolean} inASlot */
export function excess(total, dose, rules, inASlot = true) {
  if (total > rules.enough_times_dose * dose) return "rest";
  if (total > dose || !inASlot) return "enough";
  return null;
}

/* The clinic's figures as the plan has them; a plan kept by an older version has none, and these stand in. */

/** The clinic's defaults, for a plan without figures of its own.
    @type {Rules & Record<string, number | boolean>} */
export const FALLBACK = {
  done_share: 0.8,          // share of the dose that reads as logged
  timely_minutes: 45,       // timely up to this long after the slot's end
  fill_in_hours: 48,        // an ended slot can be filled in for this long
  enough_times_dose: 1.5,   // up to this many times the dose it is 'enough for now', beyond it 'rest'
  take_back_minutes: 2,     // 'Pressed by mistake' is offered this long
  no_contact_hours: 72,     // so long without the clinic, and the phone says so
  pain_red_flag_at: 7,      // pain that opens the list of warning signs
  pain_rise: 3,             // rise over yesterday's median that opens it
  pain_rise_floor: 5,       // pain below which a rise opens nothing
  pain_each_bout: true,     // pain is asked with each bout; otherwise in the slots that say so
  quiet_longest_hours: 4,   // 'Quiet until' ends by itself at the latest then
  silence_waking_hours: 6,  // waking hours without a log after which the phone asks
};

/** The figures of a plan, each one that is missing or of another sort as the default.
    @param {PlanBody | undefined} plan @returns {Rules} */
export function rulesOf(plan) {
  const told = Object.entries(plan?.rules ?? {}).filter(([key, figure]) => typeof figure === typeof FALLBACK[key]);
  return { ...FALLBACK, ...Object.fromEntries(told) };
}

/** When pain opens the list: {red_flag_at, yesterday, rise, rise_floor} of a course.
    @param {Course} course @param {Rules} rules */
export function painRule(course, rules) {
  const { yesterday = null, red_flag_at = rules.pain_red_flag_at, rise = rules.pain_rise, rise_floor = rules.pain_rise_floor } = course.pain ?? {};
  return { yesterday, red_flag_at, rise, rise_floor };
}

/* The first minutes on a phone: which steps are left, and which of them is shown. */

/** Where the app on the home screen took a tab's place, plan and pictures were seen in the tab. */
const HANDED_OVER = ["reminders", "test", "calendar"];

/** The steps of a phone that was just linked. `pushHere`: reminders can come to this page, and need no home screen first.
    @param {{handedOver: boolean, pushHere: boolean}} given @returns {string[]} */
export function firstSteps({ handedOver, pushHere }) {
  if (handedOver) return HANDED_OVER;
  const last = pushHere ? ["reminders", "install"] : ["install", "reminders"];
  return ["carer", "language", "pictures", ...last, "test", "calendar"];
}

/** Whether a step says anything to this phone.
    @param {string} step @param {FirstFacts} facts */
function fits(step, facts) {
  switch (step) {
    case "carer": return facts.carer;
    case "language": return facts.languages > 1;
    case "pictures": return facts.plan;
    case "install": return !facts.installed;
    case "reminders": return facts.able && !facts.push;
    case "test": return facts.push;
    case "calendar": return facts.plan && !facts.push && !facts.calendar;
    default: return false;   // a step of a later version
  }
}

/** The steps left that fit, in order.
    @param {First | null | undefined} first @param {FirstFacts} facts */
export const stepsLeft = (first, facts) => (first?.left ?? []).filter((step) => fits(step, facts));

/** Without the steps up to and with this one.
    @param {First} first @param {string} step @returns {First} */
export const after = (first, step) => ({ ...first, page: 0, left: first.left.slice(first.left.indexOf(step) + 1) });

/* The daily check: which one is open, what is missing, and what a 'no' leads to. */

import { ms } from "./clock.js";

/* What can be reported from the text of a question: a 'no' alone says too little. */
/** @type {Record<string, string[] | undefined>} */
const OFFERS = {
  wound_dry: ["wound", "fever"],
  no_new_swelling: ["white_blue_cold", "numb", "swelling"],
  comfortable: ["numb", "skin"],
};
const BACK_ON = "splint_off_and_back";

/** The check that may be answered now, or null. `answered` holds "course day" keys answered on this phone.
    @param {Course} course @param {string[]} answered @param {number} now */
export function openCheck(course, answered, now) {
  return (course.checks ?? []).find((check) => ms(check.from) <= now && now < ms(check.until)
    && !check.answered && !answered.includes(`${course.id} ${check.day}`)) ?? null;
}

/** Whether a question asks on about the time the splint was off.
    @param {Question} question @param {Answers} answers */
export const asksOff = (question, answers) => question.on_no?.ask === "off" && answers[question.key] === "no";

/** Keys of the questions without an answer; of a splint that was off, whether it is off now must be said too.
    @param {Check} check @param {Answers} answers @param {Details} details */
export const missing = (check, answers, details = {}) => check.questions
  .filter((question) => !answers[question.key] || (asksOff(question, answers) && details.off_now === undefined))
  .map((question) => question.key);

/** Questions still to be answered before it is saved. None once an answer is trouble: that waits for no other.
    @param {Check} check @param {Answers} answers @param {Details} [details] */
export const blocking = (check, answers, details = {}) => (isTrouble(check, answers, details) ? [] : missing(check, answers, details));

/** Whether the answers so far report trouble: leaving the check then tells it all the same.
    @param {Check} check @param {Answers} answers @param {Details} details */
export const isTrouble = (check, answers, details = {}) => consequences(check, answers, details).troubles.length > 0;

/** What the answers lead to: {troubles: kinds to report, texts: keys, textsOf: kinds whose text is shown, offers: kinds to choose from, list}.
    @param {Check} check @param {Answers} answers @param {Details} details */
export function consequences(check, answers, details) {
  /** @type {Led} */
  const led = { troubles: [], texts: [], textsOf: [], offers: [], list: false };
  for (const question of check.questions) {
    if (answers[question.key] !== "no" || !question.on_no) continue;
    const { trouble, text } = question.on_no;
    if (asksOff(question, answers)) splintOff(led, trouble, details);
    else if (trouble) led.troubles.push(trouble);
    else if (text) {
      led.texts.push(text);
      led.offers.push(...(OFFERS[question.key] ?? []));
    }
  }
  led.offers = [...new Set(led.offers)].filter((kind) => !led.troubles.includes(kind));
  return led;
}

/** @param {Led} led @param {string | undefined} trouble @param {Details} details */
function splintOff(led, trouble, { off_now, off_why }) {
  if (!off_now) led.textsOf.push(BACK_ON);
  else if (trouble) led.troubles.push(trouble);
  else led.list = true;
  if (off_why === "sore") led.textsOf.push("skin");
}

/* The daily check: which one is open, what is missing, and what a 'no' leads to. */

import { ms } from "./clock.js";

/** The check that may be answered now, or null. `answered` holds "course day" keys answered on this phone. */
export function openCheck(course, answered, now) {
  return (course.checks ?? []).find((check) => ms(check.from) <= now && now < ms(check.until)
    && !check.answered && !answered.includes(`${course.id} ${check.day}`)) ?? null;
}

/** Keys of the questions without an answer. */
export const missing = (check, answers) => check.questions.map((q) => q.key).filter((key) => !answers[key]);

/** What the answers lead to: {troubles: [kind], texts: [key], list: bool}. */
export function consequences(check, answers, details) {
  const led = { troubles: [], texts: [], list: false };
  for (const question of check.questions) {
    if (answers[question.key] !== "no" || !question.on_no) continue;
    const { trouble, text, ask } = question.on_no;
    if (ask === "off") offNow(led, trouble, details);
    else if (trouble) led.troubles.push(trouble);
    else if (text) led.texts.push(text);
  }
  return led;
}

function offNow(led, trouble, details) {
  if (!details.off_now) return;
  if (trouble) led.troubles.push(trouble);
  else led.list = true;
}

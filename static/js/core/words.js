/* Phrases by key, with {holes} and plural forms; homeprog/phrases.py does the same on the server. */

let english = {};
let own = {};
let language = "en";

/** The shipped English, and above it the words of `lang` that the clinic signed off: a key without one is in English. */
export function setPhrases(shipped, signed = {}, lang = "en") {
  english = shipped;
  own = signed;
  language = lang;
}

/** Whether the words of `lang` run from right to left. */
export const runsLeft = (lang) => ["ar"].includes(lang);

/** Speak the language of a plan in the words kept for it; English where there are none. */
export function speakAs(kept, lang) {
  own = kept?.language === lang ? kept.phrases : {};
  language = lang;
}

/** The phrase of a key; `holes` fills {name}, and `holes.n` picks the plural form. */
export function say(key, holes = {}) {
  return key in own ? fill(own[key], language, holes) : fill(english[key] ?? key, "en", holes);
}

function fill(phrase, lang, holes) {
  const text = typeof phrase === "string" ? phrase : (phrase[new Intl.PluralRules(lang).select(holes.n)] ?? phrase.other);
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in holes ? String(holes[name]) : whole));
}

/** Parts with the comma of the language between them. */
export const listed = (...parts) => parts.filter(Boolean).join(say("figure.comma"));

/** "Left hand, middle finger" of a course, or the app's name before it may be named. */
export const courseName = (course) => listed(course?.hand, course?.finger);

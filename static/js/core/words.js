/* Phrases by key, with {holes} and plural forms; homeprog/phrases.py does the same on the server. */

/** @type {Phrases} */
let english = {};
/** @type {Phrases} */
let own = {};
let language = "en";

/** The shipped English, and above it the words of `lang` that the clinic signed off: a key without one is in English.
    @param {Phrases} shipped @param {Phrases} signed @param {string} lang */
export function setPhrases(shipped, signed = {}, lang = "en") {
  english = shipped;
  own = signed;
  language = lang;
}

/** Whether the words of `lang` run from right to left.
    @param {string} lang */
export const runsLeft = (lang) => ["ar"].includes(lang);

/** Speak the language of a plan in the words kept for it; English where there are none.
    @param {Words | null | undefined} kept @param {string} lang */
export function speakAs(kept, lang) {
  own = kept?.language === lang ? kept.phrases : {};
  language = lang;
}

/** The phrase of a key; `holes` fills {name}, and `holes.n` picks the plural form.
    @param {string} key @param {Holes} holes @returns {any} */
export function say(key, holes = {}) {
  return key in own ? fill(own[key], language, holes) : fill(english[key] ?? key, "en", holes);
}

/** @param {Phrase} phrase @param {string} lang @param {Holes} holes */
function fill(phrase, lang, holes) {
  const text = typeof phrase === "string" ? phrase : (phrase[new Intl.PluralRules(lang).select(Number(holes.n))] ?? phrase.other);
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in holes ? String(holes[name]) : whole));
}

/** Parts with the comma of the language between them.
    @param {(string | null | undefined)[]} parts */
export const listed = (...parts) => parts.filter(Boolean).join(say("figure.comma"));

/** "Left hand, middle finger" of a course, or the app's name before it may be named.
    @param {Course | null} course */
export const courseName = (course) => listed(course?.hand, course?.finger);

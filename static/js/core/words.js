/* Phrases by key, with {holes} and plural forms; the language's file is loaded once. */

let phrases = {};
let language = "en";

export function setPhrases(loaded, lang) {
  phrases = loaded;
  language = lang;
}

/** The phrase of a key; `holes` fills {name}, and `holes.n` picks the plural form. */
export function say(key, holes = {}) {
  const found = phrases[key];
  if (found === undefined) return key;
  const text = typeof found === "string" ? found : (found[new Intl.PluralRules(language).select(holes.n)] ?? found.other);
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in holes ? String(holes[name]) : whole));
}

/** "Left hand, middle finger" of a course, or the app's name before it may be named. */
export function courseName(course) {
  return [course?.hand, course?.finger].filter(Boolean).join(", ");
}

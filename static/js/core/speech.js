/* Words for a voice: numbers to ring digit by digit, and long text a sentence at a time. */

const ISOLATES = /[\u2066-\u2069]/g;
const DIALLED = /(?:\+|\b0)\d(?:[ -]?\d)+/g;   // as people write a number to ring

/** @param {string} number */
const apart = (number) => [...number.replace(/[^\d+]/g, "")].join(" ");

/** The text with each of `tels`, and what looks like a number to ring, read digit by digit.
    @param {string} text @param {string[]} tels */
export function spelled(text, tels = []) {
  const known = tels.filter(Boolean).reduce((told, tel) => told.replaceAll(tel, apart(tel)), text.replace(ISOLATES, "").replaceAll("\u00a0", " "));
  return known.replace(DIALLED, apart);
}

/** Sentences of a text: voices break off in long ones, and a stop is quicker between short ones.
    @param {string} text */
export function sentences(text) {
  return text.split(/(?<=[.!?\u061f\u0964])\s+|\n+/u).map((part) => part.replace(/\s+/g, " ").trim()).filter(Boolean);
}

/** The voice for a language, one on the device first; null where there is none. `voices` as the system lists them.
    @template {Pick<SpeechSynthesisVoice, "lang" | "localService">} T @param {T[]} voices @param {string} language */
export function voiceFor(voices, language) {
  /** @param {T} voice */
  const of = (voice) => voice.lang.replace("_", "-").toLowerCase().split("-")[0] === language.split("-")[0];
  const able = voices.filter(of);
  return able.find((voice) => voice.localService) ?? able[0] ?? null;
}

/** Seconds a step asks to be held, as its words say ("hold for 5 seconds"), or null.
    @param {string} words */
export function heldSeconds(words) {
  const found = /(\d+)\s*(?:seconds?|segundos?|ثوان[يٍ]?|ثانية|सेकंड)/u.exec(words);
  return found ? Number(found[1]) : null;
}

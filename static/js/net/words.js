/* The words of this phone's language: those the clinic signed off, fetched once for each version; and the choice of it. */

import { keep, load } from "../store/state.js";
import { call } from "./api.js";

/** Have the words that a plan speaks; without them a phone speaks English.
    @param {PlanBody} plan */
export async function haveWords({ words, language }) {
  const { words: here } = await load();
  if (!words) return here && keep("words", null);
  if (here?.version === words && here.language === language) return null;
  return keep("words", await call("GET", "/phone/words"));
}

/** The language this phone shall speak, of those the clinic offers. */
export const chooseLanguage = (language) => call("PUT", "/phone/language", { language });

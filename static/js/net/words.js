/* The choice of this phone's language; its words come with the plan (fetch.js). */

import { call } from "./api.js";

/** The language this phone shall speak, of those the clinic offers.
    @param {string} language */
export const chooseLanguage = (language) => call("PUT", "/phone/language", { language });

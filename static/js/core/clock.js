/* The phone's now (its clock plus the server's offset) and instants in words of the plan's zone. */

export const MINUTE = 60_000;
export const HOUR = 60 * MINUTE;

/** @type {Map<string, any>} */
const made = new Map();

/** A format, made once: making one costs a slow phone more than drawing a screen.
    @param {string} language @param {Intl.DateTimeFormatOptions} options @returns {Intl.DateTimeFormat} */
function formatOf(language, options) {
  const key = `${language} ${JSON.stringify(options)}`;
  if (!made.has(key)) made.set(key, new Intl.DateTimeFormat(language, options));
  return made.get(key);
}

/** Milliseconds of an ISO instant.
    @param {string} iso */
export const ms = (iso) => Date.parse(iso);

/** ISO 8601 in UTC of milliseconds.
    @param {number} at */
export const iso = (at) => new Date(at).toISOString();

/** server_time less the middle of the request, in ms.
    @param {string} serverTime @param {number} sent @param {number} received */
export function offsetOf(serverTime, sent, received) {
  return Math.round(ms(serverTime) - (sent + received) / 2);
}

/** The tag of a language as this phone writes it: days before months, and Western digits, as on the paper and the server.
    @param {string} language */
const tagOf = (language) => (language === "en" ? "en-GB" : `${language}-u-nu-latn`);

/** "14:00" in the zone, on a clock of 24 hours.
    @param {number} at @param {string} zone @param {string} language */
export function clock(at, zone, language = "en") {
  return formatOf(tagOf(language), {
    timeZone: zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23",
  }).format(at);
}

/** "14", or "14:20" where the window does not begin on the hour.
    @param {number} at @param {string} zone */
export function hourHead(at, zone) {
  const text = clock(at, zone);
  return text.endsWith(":00") ? String(Number(text.slice(0, 2))) : text;
}

/** "Friday".
    @param {number} at @param {string} zone @param {string} language */
export function weekday(at, zone, language = "en") {
  return formatOf(tagOf(language), { timeZone: zone, weekday: "long" }).format(at);
}

/** "Friday 27 November" of an ISO date, which lies in no zone.
    @param {string} date @param {string} language */
export function dateWords(date, language = "en") {
  return formatOf(tagOf(language), {
    timeZone: "UTC", weekday: "long", day: "numeric", month: "long",
  }).format(ms(`${date}T12:00:00Z`)).replace(",", "");
}

/** The ISO date of an instant in the zone.
    @param {number} at @param {string} zone */
export function localDate(at, zone) {
  return formatOf("en-CA", { timeZone: zone, year: "numeric", month: "2-digit", day: "2-digit" }).format(at);
}

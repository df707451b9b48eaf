/* Typed codes: letters of a base of 32, read as they look. */

const OWN_LENGTH = 12;   // a code that the phone's own browser page shows; the clinic's has 8

/** A typed code as it was made: capitals, no dash or blank, O read as 0, I and L as 1.
    @param {string} typed */
export const plainCode = (typed) => typed.toUpperCase().replace(/[^0-9A-Z]/g, "").replaceAll("O", "0").replace(/[IL]/g, "1");

/** As it is shown, in fours: what is typed can be held against it.
    @param {string} typed */
export const inFours = (typed) => plainCode(typed).match(/.{1,4}/g)?.join("-") ?? "";

/** Whether it is the code of the phone's own page, which needs no number beside it.
    @param {string} typed */
export const isOwnCode = (typed) => plainCode(typed).length === OWN_LENGTH;

/** The secret in what a camera read: a link of this very address; null for any other.
    @param {string} text @param {string} origin */
export function secretOf(text, origin) {
  let url;
  try {
    url = new URL(text);
  } catch {
    return null;
  }
  const found = url.origin === origin && url.pathname === "/phone/" ? /^#pair=(.+)$/.exec(url.hash) : null;
  return found ? decodeURIComponent(found[1]) : null;
}

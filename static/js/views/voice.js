/* The device's own voice: there only where the system has one for the language of the screen. */

import { voiceFor } from "../core/speech.js";

const synth = () => globalThis.speechSynthesis ?? null;

let ended = null;   // what to do when what is being read ends, or is stopped

/** The voice for a language, or null.
    @param {string} language */
export const voice = (language) => voiceFor(synth()?.getVoices() ?? [], language);

/** Call `act` each time the system's voices change: many load after the page. */
export const onVoices = (act) => synth()?.addEventListener?.("voiceschanged", act);

/** Read pieces one after the other, in the place of what is being read; `done` when they end or are stopped. */
export function read(pieces, language, done = () => {}) {
  hush();
  const with_ = voice(language);
  if (!with_ || !pieces.length) return done();
  ended = done;
  pieces.forEach((piece, n) => {
    const spoken = Object.assign(new SpeechSynthesisUtterance(piece), { voice: with_, lang: with_.lang });
    if (n === pieces.length - 1) spoken.onend = () => { if (ended === done) over(); };
    synth().speak(spoken);
  });
  return null;
}

/** Stop at once. */
export function hush() {
  if (!ended) return;
  synth().cancel();
  over();
}

function over() {
  const told = ended;
  ended = null;
  told();
}

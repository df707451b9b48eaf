import assert from "node:assert/strict";
import { test } from "node:test";

import { heldSeconds, sentences, spelled, voiceFor } from "../../static/js/core/speech.js";

test("a number to ring is read digit by digit, a dose and a time are not", () => {
  assert.equal(spelled("Ring \u2066020 7946 0101\u2069"), "Ring 0 2 0 7 9 4 6 0 1 0 1");
  assert.equal(spelled("Then ring \u2066020\u00a07946\u00a00101\u2069."), "Then ring 0 2 0 7 9 4 6 0 1 0 1.");
  assert.equal(spelled("Ring 555\u00a00100", ["555 0100"]), "Ring 5 5 5 0 1 0 0");
  assert.equal(spelled("Ring 999", ["999"]), "Ring 9 9 9");
  assert.equal(spelled("+44 20 7946 0101"), "+ 4 4 2 0 7 9 4 6 0 1 0 1");
  assert.equal(spelled("10 times at 14:05, in 30 minutes, on day 120"), "10 times at 14:05, in 30 minutes, on day 120");
});

test("long text is read a sentence at a time, in each script", () => {
  assert.deepEqual(sentences("Stop.  Ring\n now? \n\n Rest"), ["Stop.", "Ring", "now?", "Rest"]);
  assert.deepEqual(sentences("هل هذه يدك؟ نعم"), ["هل هذه يدك؟", "نعم"]);
  assert.deepEqual(sentences("रुकें। फोन करें।"), ["रुकें।", "फोन करें।"]);
});

test("only a voice of the language reads, the device's own before one that needs a signal", () => {
  const voices = [{ lang: "en-GB", localService: false }, { lang: "en_US", localService: true }, { lang: "es-ES", localService: false }];
  assert.equal(voiceFor(voices, "en").lang, "en_US");
  assert.equal(voiceFor(voices, "es").lang, "es-ES");
  assert.equal(voiceFor(voices, "ar"), null);
});

test("the seconds of a hold are read from the step's own words", () => {
  assert.equal(heldSeconds("Hold it for 5 seconds."), 5);
  assert.equal(heldSeconds("Mantenga 5 segundos."), 5);
  assert.equal(heldSeconds("Bend the 2 end joints."), null);
});

/* Without push: a gentle sound, a touch and a line when a slot begins, while the app is in sight. */

import { ms } from "../core/clock.js";
import { mayExercise } from "../core/stop.js";
import { begun, nearSleep, wayOf } from "../core/way.js";
import { say } from "../core/words.js";
import { wishesOf } from "./quiet.js";
import { quietUntil } from "../core/quiet.js";
import { h, speak } from "./dom.js";

const LOOK_MS = 5_000;
const HZ = [523, 659];   // two soft tones, a third apart
let sound = null;

/** Look every few seconds; a browser lets a page sound only after it has been touched.
    @param {App} app */
export function ringInApp(app) {
  let last = app.now();
  addEventListener("pointerdown", () => { sound ??= "AudioContext" in window ? new AudioContext() : null; sound?.resume?.(); });
  setInterval(() => {
    const now = app.now();
    const since = last;
    last = now;
    if (document.visibilityState === "visible") look(app, since, now);
  }, LOOK_MS);
}

async function look(app, since, now) {
  const { plan, ended, ways } = app.state;
  if (!plan || ended || ways.ring === false || wayOf(app.state, "") === "push" || quietUntil(wishesOf(app))) return;
  const open = plan.body.courses.filter((course) => course.state === "confirmed" && mayExercise(course, app.state));
  const due = open.flatMap((course) => begun(course.slots, since, now, ms).map((slot) => ({ slot, course })));
  if (!due.length) return;
  await app.redraw();
  document.querySelector("#phone main")?.prepend(h("p", { class: "seen" }, say("in_app.now")));
  speak(say("in_app.now"));
  if (due.some(({ slot, course }) => nearSleep(course.slots, slot, ms))) return;
  navigator.vibrate?.(200);
  if (sound?.state === "running") HZ.forEach((hz, n) => tone(sound, hz, n * 0.35));
}

/** A tone that swells and fades, in seconds from now. */
function tone(context, hz, after) {
  const at = context.currentTime + after;
  const [wave, loud] = [context.createOscillator(), context.createGain()];
  wave.frequency.value = hz;
  loud.gain.setValueAtTime(0, at);
  loud.gain.linearRampToValueAtTime(0.15, at + 0.1);
  loud.gain.linearRampToValueAtTime(0, at + 0.6);
  wave.connect(loud).connect(context.destination);
  wave.start(at);
  wave.stop(at + 0.6);
}

/* The phone counts: the steps of the exercise at a calm pace, by voice, buzz and large figures, so that both eyes may stay on the hand. */

import { paceAt, stepLengths } from "../core/pace.js";
import { say } from "../core/words.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { awake, buzz, face } from "./counting.js";
import { cautions, choice } from "./parts.js";
import { hush, read, voice } from "./voice.js";
import { startWatch } from "./watch.js";
import { setWays } from "./ways.js";

/** Begin, or begin again from what is done, with the lead-in; the next exercise is counted so too.
    @param {App} app @param {Draft} draft */
export function beginPace(app, draft, slow = app.pacing?.slow ?? false) {
  app.pacing = { slow };
  Object.assign(draft, { how: "paced", pace: { watch: startWatch(), from: draft.done, slow } });
  queueMicrotask(() => announce(app, [say("pace.ready")]));   // once its screen is there
}

/** Let the phone count no more; what it counted stays.
    @param {Draft} draft */
export function endPace(draft) {
  draft.pace = null;
}

/** @param {any} given */
const markOf = ({ lead, done, step, second }) => `${lead} ${done} ${step} ${second}`;

/** @param {number} n */
const endWords = (n) => (n ? say("stop_at", { n }) : say("end_here"));

/** @param {any} given @param {any} task */
const lengthsOf = ({ pace }, task) => stepLengths(task.words.steps, pace.slow);

const standingOf = (draft, task) => paceAt(draft.pace.watch.ms(), { lengths: lengthsOf(draft, task), amount: task.amount, from: draft.pace.from });

/** Whether the steps are said aloud: where there is a voice, unless it was turned off here.
    @param {App} app */
const loud = (app) => voice(app.language()) && !app.state.ways.mute;

/** The screen while the phone counts. `finish` logs what is done.
    @param {App} app @param {Course} course @param {any} task @param {Draft} draft @param {any} finish */
export function paced(app, course, task, draft, finish) {
  const again = () => app.show("count", {}, { quietly: true });
  const slower = () => { beginPace(app, draft, !draft.pace.slow); again(); };
  const pause = () => { hush(); draft.pace.watch.turn(); again(); };
  const turnVoice = async () => { hush(); await setWays(app, { mute: !app.state.ways.mute }); again(); };
  const byTaps = () => { endPace(draft); app.pacing = null; again(); };
  const running = draft.pace.watch.running();
  const at = standingOf(draft, task);
  const screen = h("div", { class: "paced" });
  const end = button("alt", endWords(draft.done), () => finish(app, task, draft.done, "paced"));
  draw(screen, task, at, lengthsOf(draft, task));
  const timer = setInterval(() => tick(app, task, draft, screen, end, again), 250);
  const asleep = running ? awake() : () => {};
  return {
    title: task.words.name, yields: true,
    main: [
      cautions(app, course, { close: true }), screen,
      h("div", { class: "choices" }, choice(say("pace.slower"), draft.pace.slow, slower),
        voice(app.language()) && choice(say("pace.voice"), !app.state.ways.mute, turnVoice), button("choice", say("pace.taps"), byTaps)),
    ].filter(Boolean),
    acts: [end, button("go hold", say(running ? "pause" : "go_on"), pause)],
    leave: (to) => {
      clearInterval(timer);
      asleep();
      if (to !== "count" && draft.pace?.watch.running()) draft.pace.watch.turn();   // elsewhere nothing is counted
    },
    hidden: () => { if (draft.pace?.watch.running()) pause(); },   // out of sight nothing is counted
  };
}

/** Once a step begins it is said and felt; once all are done the screen asks for the last tap.
    @param {App} app @param {any} task @param {Draft} draft @param {HTMLElement} screen @param {HTMLElement} end @param {() => void} again */
function tick(app, task, draft, screen, end, again) {
  const at = standingOf(draft, task);
  if (screen.dataset.at === markOf(at)) return null;
  if (draft.done !== at.done) {
    draft.done = at.done;
    end.textContent = endWords(at.done);
  }
  if (at.done >= task.amount) {
    again();
    buzz(200, 100, 200);
    return announce(app, [say("pace.all", { n: at.done })]);
  }
  draw(screen, task, at, lengthsOf(draft, task));
  if (at.lead || at.second) return null;
  buzz(...(at.step ? [60] : [60, 80, 60]));
  return announce(app, [...(at.step ? [] : [loud(app) ? String(at.time) : say("pace.time", { n: at.time, of: task.amount })]), stepWords(task, at)]);
}

/** By the device's voice, or through the reader of who uses one: never by both. */
function announce(app, words) {
  if (loud(app)) read(words, app.language());
  else speak(words.join(" "));
}

/** @param {any} task @param {any} given */
const stepWords = (task, { lead, step }) => (lead ? say("pace.ready") : (task.words.steps[step] ?? task.words.name));

/** New figures in the same screen; the heading is the same element throughout, so that focus stays on it. */
function draw(screen, task, at, lengths) {
  screen.dataset.at = markOf(at);
  const track = h("ol", { class: "track", "aria-hidden": "true" }, lengths.map((seconds, step) => trackOf(at, step, seconds)));
  const spoken = at.lead ? say("pace.in", { n: at.lead }) : say("pace.time", { n: at.time, of: task.amount });
  const number = face(at.lead || at.time, task.amount, "times", at.done, spoken, at.lead ? spoken : undefined);   // the lead-in is no count
  if (!screen.children.length) screen.append(heading("", "step"), track, number);
  const [title, oldTrack, oldNumber] = screen.children;
  title.textContent = stepWords(task, at);
  oldTrack.replaceWith(track);
  oldNumber.replaceWith(number);
}

const trackOf = (at, step, seconds) => h("li", { class: !at.lead && step === at.step ? "on" : null },
  Array.from({ length: seconds }, (_, i) => h("i", { class: !at.lead && (step < at.step || (step === at.step && i <= at.second)) ? "f" : null })));

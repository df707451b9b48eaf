/* The phone counts: the steps of the exercise at a calm pace, so that both eyes may stay on the hand. */

import { CALM_S, SLOW_S, paceAt } from "../core/pace.js";
import { say } from "../core/words.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { awake, face } from "./counting.js";
import { cautions, choice } from "./parts.js";
import { startWatch } from "./watch.js";

/** Begin, or begin again from what is done, with the lead-in; the next exercise is counted so too. */
export function beginPace(app, slow = app.pacing?.slow ?? false) {
  app.pacing = { slow };
  Object.assign(app.draft, { how: "paced", pace: { watch: startWatch(), from: app.draft.done, slow } });
}

/** Let the phone count no more; what it counted stays. */
export function endPace(app) {
  app.draft.pace = null;
}

const markOf = ({ lead, done, step, second }) => `${lead} ${done} ${step} ${second}`;

const endWords = (n) => (n ? say("stop_at", { n }) : say("end_here"));

const standingOf = ({ pace }, task) => paceAt(pace.watch.ms(), {
  steps: task.words.steps.length || 1, amount: task.amount, step_s: pace.slow ? SLOW_S : CALM_S, from: pace.from,
});

/** The screen while the phone counts. `finish` logs what is done. */
export function paced(app, course, task, finish) {
  const { draft } = app;
  const again = () => app.show("count", {}, { quietly: true });
  const slower = () => { beginPace(app, !draft.pace.slow); again(); };
  const pause = () => { draft.pace.watch.turn(); again(); };
  const byTaps = () => { endPace(app); app.pacing = null; again(); };
  const running = draft.pace.watch.running();
  const at = standingOf(draft, task);
  const screen = h("div", { class: "paced" });
  draw(screen, task, at, draft.pace.slow);
  const timer = setInterval(() => tick(app, task, screen, again), 250);
  const asleep = running ? awake() : () => {};
  return {
    title: task.words.name, yields: true,
    main: [
      cautions(app, course, { close: true }), screen,
      h("div", { class: "choices" }, choice(say("pace.slower"), draft.pace.slow, slower), button("choice", say("pace.taps"), byTaps)),
    ].filter(Boolean),
    acts: [button("alt", endWords(draft.done), () => finish(app, task, draft.done, "paced")), button("go hold", say(running ? "pause" : "go_on"), pause)],
    leave: (to) => {
      clearInterval(timer);
      asleep();
      if (to !== "count" && draft.pace?.watch.running()) draft.pace.watch.turn();   // elsewhere nothing is counted
    },
    hidden: () => { if (draft.pace?.watch.running()) pause(); },   // out of sight nothing is counted
  };
}

/** Once a step begins it is said; once all are done the screen asks for the last tap. */
function tick(app, task, screen, again) {
  const at = standingOf(app.draft, task);
  if (screen.dataset.at === markOf(at)) return null;
  const fresh = !at.lead && at.second === 0;
  if (app.draft.done !== at.done) {
    app.draft.done = at.done;
    document.querySelector(".acts .alt").textContent = endWords(at.done);
  }
  if (at.done >= task.amount) {
    again();
    return speak(say("pace.all", { n: at.done }));
  }
  draw(screen, task, at, app.draft.pace.slow);
  return fresh ? speak(`${at.step ? "" : `${say("pace.time", { n: at.time, of: task.amount })} `}${stepWords(task, at)}`) : null;
}

const stepWords = (task, { lead, step }) => (lead ? say("pace.ready") : (task.words.steps[step] ?? task.words.name));

/** New figures in the same screen; the heading is the same element throughout, so that focus stays on it. */
function draw(screen, task, at, slow) {
  screen.dataset.at = markOf(at);
  const steps = Array.from({ length: task.words.steps.length || 1 }, (_, step) => trackOf(at, step, slow ? SLOW_S : CALM_S));
  const track = h("ol", { class: "track", "aria-hidden": "true" }, steps);
  const spoken = at.lead ? say("pace.in", { n: at.lead }) : say("pace.time", { n: at.time, of: task.amount });
  const number = face(at.lead || at.time, task.amount, "times", at.done, spoken);
  if (!screen.children.length) screen.append(heading("", "step"), track, number);
  const [title, oldTrack, oldNumber] = screen.children;
  title.textContent = stepWords(task, at);
  oldTrack.replaceWith(track);
  oldNumber.replaceWith(number);
}

const trackOf = (at, step, seconds) => h("li", { class: !at.lead && step === at.step ? "on" : null },
  Array.from({ length: seconds }, (_, i) => h("i", { class: !at.lead && (step < at.step || (step === at.step && i <= at.second)) ? "f" : null })));

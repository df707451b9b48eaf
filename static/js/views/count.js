/* Counting: one tap a time, or the minutes running; both eyes may stay on the hand. */

import { due } from "../core/day.js";
import { say } from "../core/words.js";
import { button, h, sign } from "./dom.js";
import { heading } from "./frame.js";
import { cautions } from "./parts.js";
import { startWatch } from "./watch.js";

const MOST_BOXES = 20;

export function count(app) {
  const course = app.course();
  if (app.draft?.course !== course.id) app.draft = { at: 0, course: course.id, tasks: tasksNow(app, course), goes: [], done: 0 };
  const task = app.draft.tasks[app.draft.at];
  if (!task) {
    app.draft = null;
    return nothingLeft(app);
  }
  return task.unit === "minutes" ? timed(app, course, task) : tapped(app, course, task);
}

const nothingLeft = (app) => ({ title: say("now.title"), main: [heading(say("now.nothing"))], acts: [button("go", say("go_on"), app.home)] });

/** Minutes and times alike: what one slot asks for, with the exercise's words. */
function tasksNow(app, course) {
  const slots = due(course, app.log(), app.now());
  return slots.map((slot) => ({ exercise: slot.exercise, amount: slot.amount, unit: slot.unit, words: course.exercises.find((each) => each.key === slot.exercise) }));
}

/** On to the next exercise of this hour, or to pain. */
function finish(app, task, amount, how) {
  const { at, tasks, goes } = app.draft;
  const go = { exercise: task.exercise, amount, unit: task.unit, how, done_at: Date.now() };
  const all = amount ? [...goes, go] : goes;
  const more = at + 1 < tasks.length;
  app.draft = more ? { ...app.draft, at: at + 1, goes: all, done: 0, watch: null } : null;
  if (more) app.go("count", {}, { replace: true });
  else if (all.length) app.go("pain", { goes: all }, { replace: true });
  else app.home();
}

function tapped(app, course, task) {
  const { done } = app.draft;
  const full = done >= task.amount;
  const step = task.words.steps[0] ?? task.words.name;
  const set = (n) => {
    app.draft.done = n;
    app.show("count", {}, { quietly: true });
  };
  return {
    title: task.words.name, yields: true,
    main: [
      cautions(app, course, { topOnly: true }), heading(step, "step"),
      task.words.steps.length > 1 ? h("p", {}, task.words.steps.slice(1).join(" ")) : null,
      h("div", { class: "count" }, h("p", { class: "big", role: "status" }, String(done)), h("p", { class: "of" }, say("of_times", { n: task.amount }))),
      task.amount <= MOST_BOXES ? boxes(task.amount, done) : null,
      done > 0 ? button("skip", say("one_back"), () => set(done - 1)) : null,
    ].filter(Boolean),
    acts: full ? [button("go", say("all_done", { n: done }), () => finish(app, task, done, "counted"))] : [
      done ? button("alt", say("stop_at", { n: done }), () => finish(app, task, done, "counted"))
        : button("alt", say("all_done", { n: task.amount }), () => finish(app, task, task.amount, "one_tap")),
      button("go", h("span", { dir: "ltr" }, say("plus_one")), () => set(done + 1)),
    ],
    ...awake(),
  };
}

const boxes = (amount, done) => h("ol", { class: "boxes", "aria-hidden": "true" },
  Array.from({ length: amount }, (_, i) => h("li", { class: i === done ? "cur" : null }, i < done ? sign("logged") : null)));

function timed(app, course, task) {
  app.draft.watch ??= startWatch();
  const { watch } = app.draft;
  const face = h("p", { class: "big" }, "0");
  const end = () => finish(app, task, Math.min(task.amount, watch.minutes()), "paced");
  const tick = () => {
    face.textContent = String(Math.min(task.amount, watch.minutes()));
    if (watch.minutes() >= task.amount) end();
  };
  const timer = setInterval(tick, 1000);
  const { leave, hidden } = awake();
  const pause = button("go hold", say(watch.running() ? "pause" : "go_on"), (event) => {
    watch.turn();
    event.currentTarget.textContent = say(watch.running() ? "pause" : "go_on");
  });
  face.textContent = String(watch.minutes());
  return {
    title: task.words.name, yields: true,
    main: [cautions(app, course, { topOnly: true }), heading(task.words.steps[0] ?? task.words.name, "step"),
      h("div", { class: "count" }, face, h("p", { class: "of" }, say("of_minutes", { n: task.amount })))].filter(Boolean),
    acts: [button("alt", say("end_here"), end), pause],
    leave: () => { clearInterval(timer); leave(); }, hidden,
  };
}

/** Keep the screen awake while counting, where the system lets us. */
function awake() {
  const lock = navigator.wakeLock?.request("screen").catch(() => null);
  return { leave: () => lock?.then((held) => held?.release()), hidden: () => {} };
}

/** What was counted before something went wrong: done, so it is logged; pain was not asked. */
export function halfDone(app, course) {
  if (app.draft?.course !== course.id) return [];
  const { at, tasks, goes, done, watch } = app.draft;
  const amount = tasks[at].unit === "minutes" ? (watch?.minutes() ?? 0) : done;
  const how = tasks[at].unit === "minutes" ? "paced" : "counted";
  app.draft = null;
  return amount ? [...goes, { exercise: tasks[at].exercise, amount, unit: tasks[at].unit, how, done_at: Date.now() }] : goes;
}

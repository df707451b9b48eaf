/* Counting: one tap a time, the phone at a calm pace, or the minutes running. */

import { due, left } from "../core/day.js";
import { say } from "../core/words.js";
import { button, h } from "./dom.js";
import { heading } from "./frame.js";
import { awake, buzz, face } from "./counting.js";
import { beginPace, endPace, paced } from "./paced.js";
import { cautions } from "./parts.js";
import { startWatch } from "./watch.js";

/** @param {CourseApp} app */
export function count(app) {
  const course = app.course();
  if (overtaken(app)) {
    queueMicrotask(() => leftOff(app));
    return { title: say("now.title"), main: [heading(say("now.title"))] };
  }
  if (app.draft?.course !== course.id) app.draft = { at: 0, course: course.id, made: planOf(course), tasks: tasksNow(app, course), goes: [], done: 0, how: "counted" };
  const { draft } = app;
  const task = draft.tasks[draft.at];
  if (!task) {
    app.draft = null;
    return nothingLeft(app);
  }
  if (task.words.rehearsal) return rehearsed(app, course, task);
  if (task.unit === "minutes") return timed(app, course, task, draft);
  if (app.pacing && !draft.pace && !draft.done) beginPace(app, draft);   // as it was counted the last time
  return draft.pace && draft.done < task.amount ? paced(app, course, task, draft, finish) : tapped(app, course, task, draft);
}

/** @param {Course} course */
const planOf = ({ phase, exercises }) => JSON.stringify([phase, exercises]);

/** Whether the plan asks for something else by now than what is being counted.
    @param {App} app */
export function overtaken(app) {
  const course = app.course();
  return Boolean(course && app.draft?.course === course.id && app.draft.made !== planOf(course));
}

/** What was counted is logged; the rest is as the plan has it now.
    @param {App} app */
export function leftOff(app) {
  const course = app.course();
  const goes = course ? halfDone(app, course) : [];
  return goes.length ? app.go("pain", { goes }, { replace: true }) : app.home();
}

/** @param {App} app */
const nothingLeft = (app) => ({ title: say("now.title"), main: [heading(say("now.nothing"))], acts: [button("go", say("go_on"), app.home)] });

/** Minutes and times alike: what is left of what one slot asks for, with the exercise's words. */
function tasksNow(app, course) {
  const slots = due(course, app.log(), app.now());
  return slots.map((slot) => ({ exercise: slot.exercise, amount: left(slot, app.log()), unit: slot.unit, words: course.exercises.find((each) => each.key === slot.exercise) }));
}

/** On to the next exercise of this hour, or to pain. */
function finish(app, task, amount, how) {
  const { at, tasks, goes } = app.draft;
  const go = { exercise: task.exercise, amount, unit: task.unit, how, done_at: Date.now() };
  const all = amount ? [...goes, go] : goes;
  const more = at + 1 < tasks.length;
  app.draft = more ? { ...app.draft, at: at + 1, goes: all, done: 0, how: "counted", watch: null, pace: null } : null;
  if (more) app.go("count", {}, { replace: true });
  else if (all.length) app.go("pain", { goes: all }, { replace: true });
  else app.home();
}

/** @param {App} app @param {Course} course @param {any} task @param {Draft} draft */
function tapped(app, course, task, draft) {
  const { done } = draft;
  const full = done >= task.amount;
  const step = task.words.steps[0] ?? task.words.name;
  const set = (n) => {
    draft.done = n;
    app.show("count", {}, { quietly: true });
  };
  const byPhone = () => { beginPace(app, draft); app.show("count"); document.querySelector("#phone .paced")?.scrollIntoView({ block: "end" }); };
  const more = () => { draft.how = "counted"; buzz(30); set(done + 1); };
  const asleep = awake();
  return {
    title: task.words.name, yields: true,
    main: [
      cautions(app, course, { close: true }), heading(step, "step"),
      task.words.steps.length > 1 ? h("p", {}, task.words.steps.slice(1).join(" ")) : null,
      face(done, task.amount, "times", done),
      full ? null : h("p", { class: "quiet" }, say("tap_anywhere")),
      h("div", { class: "choices" }, done > 0 ? button("choice", say("one_back"), () => { endPace(draft); set(done - 1); }) : null,
        full ? null : button("choice", say("pace.start"), byPhone)),
    ].filter(Boolean),
    acts: full ? [button("go", say("all_done", { n: done }), () => finish(app, task, done, draft.how))] : [
      done ? button("alt", say("stop_at", { n: done }), () => finish(app, task, done, draft.how))
        : button("alt", say("all_done", { n: task.amount }), () => finish(app, task, task.amount, "one_tap")),
      button("go", h("span", { dir: "ltr" }, say("plus_one")), more),
    ],
    tap: full ? null : more,
    leave: asleep,
  };
}

/** A movement to practise: nothing to count.
    @param {App} app @param {Course} course @param {any} task */
const rehearsed = (app, course, task) => ({
  title: task.words.name, yields: true,
  main: [cautions(app, course, { close: true }), heading(task.words.name, "step"), h("ol", { class: "steps" }, task.words.steps.map((step) => h("li", {}, step)))].filter(Boolean),
  acts: [button("go", say("done"), () => finish(app, task, 1, "one_tap"))],
});

/** @param {App} app @param {Course} course @param {any} task @param {Draft} draft */
function timed(app, course, task, draft) {
  draft.watch ??= startWatch();
  const { watch } = draft;
  const screen = face(watch.minutes(), task.amount, "minutes", 0);
  const figure = screen.querySelector(".big");
  const end = () => finish(app, task, Math.min(task.amount, watch.minutes()), "paced");
  const tick = () => {
    const now = String(Math.min(task.amount, watch.minutes()));
    if (figure.textContent !== now) figure.textContent = now;
    if (watch.minutes() >= task.amount) end();
  };
  const timer = setInterval(tick, 1000);
  const asleep = awake();
  const pause = button("go hold", say(watch.running() ? "pause" : "go_on"), (event) => {
    watch.turn();
    event.currentTarget.textContent = say(watch.running() ? "pause" : "go_on");
  });
  return {
    title: task.words.name, yields: true,
    main: [cautions(app, course, { close: true }), heading(task.words.steps[0] ?? task.words.name, "step"),
      task.words.steps.length > 1 ? h("p", {}, task.words.steps.slice(1).join(" ")) : null, screen].filter(Boolean),
    acts: [button("alt", say("end_here"), end), pause],
    leave: (to) => {
      clearInterval(timer);
      asleep();
      if (to !== "count" && watch.running()) watch.turn();   // elsewhere no minute is counted
    },
  };
}

/** What was counted before something went wrong: done, so it is logged; pain was not asked.
    @param {App} app @param {Course} course */
export function halfDone(app, course) {
  if (app.draft?.course !== course.id) return [];
  const { at, tasks, goes, done, watch, how } = app.draft;
  const amount = tasks[at].unit === "minutes" ? (watch?.minutes() ?? 0) : done;
  app.draft = null;
  return amount ? [...goes, { exercise: tasks[at].exercise, amount, unit: tasks[at].unit, how: tasks[at].unit === "minutes" ? "paced" : how, done_at: Date.now() }] : goes;
}

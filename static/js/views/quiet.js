/* Reminders people can live with: what is quiet now, for how long, which times each week, and how many. */

import { HOUR, MINUTE } from "../core/clock.js";
import { quietUntil, weeks, wishes } from "../core/quiet.js";
import { say } from "../core/words.js";
import { permission } from "../net/reminders.js";
import { beQuiet } from "../store/log.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { choice, courseForAll, rows, whenWords } from "./parts.js";
import { askFor, reminding } from "./remind.js";

const FEWER = ["every_second", "four_a_day"];
const WEEK = [0, 1, 2, 3, 4, 5, 6];
const MONDAY = Date.UTC(2024, 0, 1);

/** @param {PlanApp} app */
export const wishesOf = (app) => wishes(app.state.plan.body.quiet, app.state.outbox, app.now());

const dayName = (app, n, weekday) => new Intl.DateTimeFormat(app.language(), { timeZone: "UTC", weekday }).format(MONDAY + n * 24 * HOUR);

/** Send wishes, show the list of them.
    @param {PlanApp} app @param {any[]} list */
async function wish(app, list) {
  await beQuiet(app.state, courseForAll(app), list);
  await app.entered();
  app.go("prompts", {}, { replace: true });
  speak(say("quiet.saved"));
}

/** @param {string} id */
const end = (id) => ({ kind: "end", ends: id });

/** How reminders come on this phone, and every wish in force, each of which can be ended.
    @param {PlanApp} app */
export function prompts(app) {
  const able = permission();
  const state = able === "unsupported" || able === "denied" ? able : (app.state.push ?? "default");
  const list = current(app, wishesOf(app));
  return {
    title: say("reminders.title"), live: true,
    main: [
      heading(say("reminders.title")), h("p", { class: "step" }, state === "default" ? reminding(app).words : say(`reminders.state.${state}`)),
      rows([state === "granted" ? { words: say("test.title"), act: () => app.go("test") } : { words: say("calendar.title"), act: () => app.go("calendar") }]),
      h("h2", {}, say("quiet.now")), list.length ? rows(list) : h("p", { class: "quiet" }, say("quiet.none")),
      h("h2", {}, say("quiet.change")),
      rows([["quiet", "quiet.title"], ["weekly", "quiet.weekly"], ["fewer", "quiet.fewer"]].map(([name, words]) => ({ words: say(words), act: () => app.go(name) }))),
      h("p", { class: "quiet" }, say("quiet.dose_stays")),
    ],
    acts: [button("alt", say("go_back"), app.home), state === "granted" ? null : button("go", say("reminders.on"), () => { app.go("reminders", { busy: true }); askFor(app); })],
    actsKind: "low",
  };
}

/** @param {PlanApp} app @param {any[]} list */
function current(app, list) {
  const stop = (ids) => () => wish(app, ids.map(end));
  const until = quietUntil(list);
  const short = list.filter((each) => each.kind === "until" || each.kind === "in_15_minutes");
  const fewer = list.filter((each) => each.kind === "fewer");
  const row = (words, ids) => ({ words, far: h("u", {}, say("quiet.end")), act: stop(ids) });
  return [
    until && row(say("quiet.until_row", { time: whenWords(app, until) }), short.map((each) => each.id)),
    ...weeks(list).map((week) => row(weekWords(app, week), week.ids)),
    fewer.length ? row(say(`quiet.${fewer.at(-1).fewer}`), fewer.map((each) => each.id)) : null,
  ].filter(Boolean);
}

/** @param {App} app @param {any} given */
function weekWords(app, { weekdays, opens, closes }) {
  const days = weekdays.length === WEEK.length ? say("quiet.every_day") : weekdays.map((n) => dayName(app, n, "short")).join(say("figure.comma"));
  return say("quiet.week", { days, opens, closes });
}

/** Quiet for a while: it ends by itself, and what is due stays due.
    @param {PlanApp} app */
export function quiet(app) {
  const be = (kind, length) => wish(app, [{ kind, until: new Date(app.now() + length).toISOString() }]);
  const until = (n) => ({ words: say("quiet.hours", { n }), far: whenWords(app, app.now() + n * HOUR), act: () => be("until", n * HOUR) });
  const hours = [1, 2, 4].filter((n) => n <= app.rules().quiet_longest_hours);
  return {
    title: say("quiet.title"),
    main: [heading(say("quiet.title")), h("p", { class: "quiet" }, say("quiet.what")),
      rows([{ words: say("quiet.fifteen"), act: () => be("in_15_minutes", 15 * MINUTE) }, ...hours.map(until)])],
    acts: [button("alt", say("go_back"), () => history.back())],
    actsKind: "low",
  };
}

const pressed = (day) => day.getAttribute("aria-pressed") === "true";

/** The phrase of what is missing, or null.
    @param {number[]} days @param {string} from @param {string} to */
function weeklyFault(days, from, to) {
  if (!days.length) return "quiet.fault_days";
  if (!from || !to) return "quiet.fault_empty";
  return from === to ? "quiet.fault_time" : null;
}

/** Quiet times that come each week. No time is filled in for the patient.
    @param {PlanApp} app */
export function weekly(app) {
  const fault = h("p", { class: "wrong", role: "alert", hidden: true });
  const time = (id) => h("label", { class: "field" }, say(`quiet.${id}`), h("input", { id, type: "time", required: true }));
  const [opens, closes] = [time("opens"), time("closes")];   // never drawn anew: a time that is half typed would be lost
  const valueOf = (field) => field.querySelector("input").value;
  const [all, ...days] = [choice(say("quiet.every_day"), false, () => press(days, !days.every(pressed))),
    ...WEEK.map((n) => choice(dayName(app, n, "short"), false, (event) => press([event.currentTarget], !pressed(event.currentTarget)), { "aria-label": dayName(app, n, "long") }))];
  const press = (which, on) => {
    for (const each of which) each.setAttribute("aria-pressed", String(on));
    all.setAttribute("aria-pressed", String(days.every(pressed)));
  };
  const save = () => {
    const chosen = WEEK.filter((n) => pressed(days[n]));
    const [from, to] = [valueOf(opens), valueOf(closes)];
    const missing = weeklyFault(chosen, from, to);
    if (!missing) return wish(app, chosen.map((weekday) => ({ kind: "weekly", weekday, opens: from, closes: to })));
    fault.hidden = false;
    fault.textContent = say(missing);
    return fault.scrollIntoView();
  };
  return {
    title: say("quiet.weekly"),
    main: [
      heading(say("quiet.weekly")), fault,
      h("section", {}, h("h2", {}, say("quiet.days")), h("div", { class: "choices" }, all, days)),
      h("div", { class: "span" }, opens, closes),
      h("p", { class: "quiet" }, say("quiet.over_night")),
    ],
    acts: [button("alt", say("go_back"), () => history.back()), button("go", say("save"), save)],
    actsKind: "low",
  };
}

/** Asked after reminders that nobody answered: one question, and never a louder reminder.
    @param {PlanApp} app */
export function suit(app) {
  const held = wishesOf(app).filter((each) => each.kind === "fewer");
  const pick = (how) => wish(app, [...held.map((each) => end(each.id)), { kind: "fewer", fewer: how }]);
  return {
    title: say("suit.title"),
    main: [heading(say("suit.title")),
      rows([...FEWER.map((how) => ({ words: say(`quiet.${how}`), act: () => pick(how) })), { words: say("quiet.weekly"), act: () => app.go("weekly") }]),
      h("p", { class: "quiet" }, say("quiet.dose_stays"))],
    acts: [button("alt", say("suit.leave"), app.home)],
    actsKind: "low",
  };
}

/** Fewer reminders; the dose stays.
    @param {PlanApp} app */
export function fewer(app) {
  const held = wishesOf(app).filter((each) => each.kind === "fewer");
  const now = held.at(-1)?.fewer ?? "all";
  const pick = (how) => wish(app, [...held.map((each) => end(each.id)), ...(how === "all" ? [] : [{ kind: "fewer", fewer: how }])]);
  return {
    title: say("quiet.fewer"),
    main: [heading(say("quiet.fewer")), h("p", {}, say("quiet.dose_stays")),
      rows(["all", ...FEWER].map((how) => ({ words: say(`quiet.${how}`), far: how === now ? say("quiet.so_now") : null, act: () => (how === now ? app.go("prompts", {}, { replace: true }) : pick(how)) })))],
    acts: [button("alt", say("go_back"), () => history.back())],
    actsKind: "low",
  };
}

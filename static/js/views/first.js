/* The first minutes: one step a screen, each skipped by a tap, gone on with where they were left. */

import { localDate } from "../core/clock.js";
import { after, stepsLeft } from "../core/first.js";
import { calendarNews, rings } from "../core/way.js";
import { say } from "../core/words.js";
import { permission } from "../net/reminders.js";
import { change } from "../store/db.js";
import { load } from "../store/state.js";
import { button, h } from "./dom.js";
import { calendar } from "./calendar.js";
import { pictures } from "./first_pictures.js";
import { heading } from "./frame.js";
import { install, installed } from "./install.js";
import { languageChoices, offered } from "./language.js";
import { rows } from "./parts.js";
import { reminders } from "./remind.js";
import { trial } from "./trial.js";
import { carers } from "./ways.js";

const DAY_MS = 24 * 60 * 60_000;
const STEPS = { carer, language, pictures, install, reminders, test: trial, calendar };

const today = (app, ahead = 0) => localDate(app.now() + ahead * DAY_MS, app.zone());

/** @param {App} app */
function facts(app) {
  return {
    carer: carers(app), languages: offered(app).length, plan: Boolean(app.course()?.phase), installed: installed(),
    able: permission() !== "unsupported", push: app.state.push === "granted", calendar: rings(app.state.calendar, today(app)),
  };
}

/** @param {App} app */
const left = (app) => stepsLeft(app.state.first, facts(app));

/** Whether the first minutes are home on this phone. */
export const leads = (app) => Boolean(app.state.first?.on) && left(app).length > 0;

/** They lead from now on, if there are any left.
    @param {App} app */
export async function leadOn(app) {
  await change("first", (first) => first && { ...first, on: true });
  app.state = await load();
}

/** The step that is next; `args` are its own.
    @param {CourseApp} app @param {any} args */
export function first(app, args = {}) {
  const steps = left(app);
  const step = args.outcome ? "reminders" : steps[0];   // what came of the asking is read before the next step
  const next = async () => {
    await change("first", (kept) => kept && after(kept, step));
    app.state = await load();
    app.home();
  };
  const view = STEPS[step](app, args, { next, page: app.state.first?.page ?? 0 });
  const end = async () => {
    await change("first", (kept) => kept && { ...kept, on: false });
    app.state = await load();
    app.home();
  };
  const count = h("p", { class: "quiet" }, say("first.left", { n: steps.length }));
  return { ...view, main: [count, ...view.main, button("skip", say("first.skip"), end)] };
}

/** One step by itself, from the menu.
    @template {App} Asks @param {(app: Asks, args: any, flow: any) => View} step */
const alone = (step) =>
  /** @param {Asks} app @param {any} args */
  (app, args) => step(app, args, { next: app.home, page: args.page ?? 0 });

export const ALONE = { pictures: alone(pictures), install: alone(install), test: alone(trial), calendar: alone(calendar), reminders: alone(reminders) };

/** The steps to choose from, at any time.
    @param {PlanApp} app */
export function setup(app) {
  const { plan, push, able } = facts(app);
  const go = (name) => () => app.go(name);
  return {
    title: say("first.title"), live: true,
    main: [heading(say("first.title")), rows([
      plan && { words: say("pics.title"), act: go("pictures") },
      { words: say("install.title"), far: installed() ? say("install.there") : null, act: go("install") },
      able && { words: say("reminders.title"), act: go("prompts") },
      push && { words: say("test.title"), act: go("test") },
      plan && { words: say("calendar.title"), act: go("calendar") },
    ])],
    acts: [button("alt", say("go_back"), app.home)],
    actsKind: "low",
  };
}

/** What Now says of it: a phone linked again has no reminders yet; a calendar file that no longer fits.
    @param {App} app */
export function setupRows(app) {
  const { first: kept } = app.state;
  const news = calendarNews(app.state, today(app), today(app, 2));
  return [
    kept && !kept.on && app.state.push === null && left(app).includes("reminders") && { words: say("first.title"), act: () => leadOn(app).then(app.home) },
    news && { words: say(`calendar.${news}`), act: () => app.go("calendar") },
  ].filter(Boolean);
}

function carer(app, _args, { next }) {
  return {
    title: say("first.carer"),
    main: [heading(say("first.carer")), h("p", {}, say("first.carer_marked")), h("p", { class: "step" }, say("carer.never")), h("p", { class: "step" }, say("carer.help"))],
    acts: [button("go", say("go_on"), next)],
  };
}

/** @param {App} app @param {any} given @param {any} given */
function language(app, { error = null }, { next }) {
  const failed = () => app.show(app.shown.name, { error: say("language.no_signal") });
  return {
    title: say("language.title"),
    main: [heading(say("language.choose")), error ? h("p", { class: "wrong", role: "alert" }, error) : null, languageChoices(app, next, failed)].filter(Boolean),
    acts: [button("go", say("go_on"), next)],
  };
}

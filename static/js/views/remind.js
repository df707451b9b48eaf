/* Reminders are asked for only after it is said why, and by a tap. */

import { localDate } from "../core/clock.js";
import { wayOf } from "../core/way.js";
import { say } from "../core/words.js";
import { permission, turnOn } from "../net/reminders.js";
import { load } from "../store/state.js";
import { button, h } from "./dom.js";
import { heading } from "./frame.js";
import { rows } from "./parts.js";

/** What reminds on this phone, and what a tap leads to.
    @param {PlanApp} app */
export function reminding({ state, now, zone }) {
  const able = permission();
  const off = able === "unsupported" || able === "denied" ? able : "default";
  const way = wayOf(state, localDate(now(), zone()));
  const told = way === "calendar" || (way === "push" && able === "granted") ? way : off;
  return { words: say(`reminders.short.${told}`), under: told === off ? say(`reminders.tap.${off === "default" ? "on" : "see"}`) : null };
}

/** Ask the system, after a tap; it may take its time, and meanwhile another screen may have been gone to.
    @param {App} app */
export async function askFor(app) {
  const { name } = app.shown;
  app.show(name, { busy: true });
  const outcome = await turnOn();
  app.state = await load();
  if (app.shown.name === name) app.show(name, { outcome });
  app.meet({});
}

/** Why, then the system's own question; `flow.next` follows.
    @param {App} app @param {any} given @param {any} given */
export function reminders(app, { outcome = null, busy = false } = {}, { next }) {
  if (outcome) return answered(app, outcome, next);
  return {
    title: say("reminders.title"),
    main: [heading(say("reminders.title")), h("p", { class: "step" }, say("reminders.what")), h("p", {}, say("reminders.private")), h("p", {}, say("reminders.asks")), h("p", { class: "quiet" }, say("reminders.drive"))],
    acts: busy ? [h("p", { class: "until", role: "status" }, say("reminders.busy"))] : [button("alt", say("not_now"), next), button("go", say("reminders.on"), () => askFor(app))],
  };
}

function answered(app, outcome, next) {
  const on = outcome === "granted";
  const way = on ? { words: say("test.title"), act: () => app.go("test", {}, { replace: true }) } : { words: say("calendar.title"), act: () => app.go("calendar", {}, { replace: true }) };
  return {
    title: say("reminders.title"),
    main: [heading(say(`reminders.short.${on ? "push" : "default"}`)), h("p", {}, say(`reminders.state.${outcome}`)), on ? null : h("p", {}, say("reminders.look_here")),
      app.shown.name === "reminders" ? rows([way]) : null].filter(Boolean),
    acts: [button("go", say("go_on"), next)],
  };
}

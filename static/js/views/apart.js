/* Screens outside the plan: before it is confirmed, waiting, closed, no longer paired. */

import { say } from "../core/words.js";
import { button, h } from "./dom.js";
import { heading } from "./frame.js";
import { numbers, rows, said } from "./parts.js";

const BEFORE = "before.";   // the clinic's texts for the time until the plan is confirmed

/** Before a clinician has confirmed: the clinic's texts, the numbers, and no exercise.
    @param {PlanApp} app */
export function before(app) {
  const texts = Object.entries(app.state.plan.body.texts).filter(([key]) => key.startsWith(BEFORE)).map(([, value]) => value);
  const own = [{ title: say("before.dry"), lines: [] }, { title: say("before.rest"), lines: [] }];
  return {
    title: say("before.title"), live: true,
    main: [
      heading(say("before.title")), h("p", { class: "quiet" }, say("before.why")),
      ...(texts.length ? texts : own).map((text) => h("section", {}, h("h2", {}, text.title), said(text.lines))),
      numbers(app),
    ],
  };
}

/** Paired, and the plan has not arrived yet.
    @param {App} app */
export const waiting = (app) => ({
  title: say("waiting.title"), live: true,
  main: [heading(say("waiting.title")), h("p", {}, say("waiting.words"))],
  acts: [button("go", say("try_again"), () => app.meet({ stale: true }))],
});

/** The system had cleared this app's memory: what came back, and what may be missing.
    @param {App} app */
export const recovered = (app) => ({
  title: say("recovered.title"),
  main: [heading(say("recovered.title")), h("p", {}, say("recovered.why")), h("p", {}, say("recovered.safe")), h("p", {}, say("recovered.look"))],
  acts: [button("alt", say("go_on"), app.home), button("go", say("days.title"), () => app.go("days", {}, { replace: true }))],
});

/** The last course is closed: whom to ring.
    @param {PlanApp} app */
export function closed(app) {
  const told = app.state.plan.body.closed;
  return {
    title: say("closed.title"), live: true,
    main: [heading(say("closed.title")), told?.words ? h("p", {}, told.words) : null, h("p", {}, say("closed.kept")), numbers(app, { ring: ringOf(told, app) })].filter(Boolean),
  };
}

const ringOf = (told, app) => (Array.isArray(told?.ring) ? told.ring : told?.ring ? [told.ring] : app.state.plan.body.ring);

/** This phone was taken out: what it still holds is kept, and not shown.
    @param {App} app */
export function revoked(app) {
  const kind = app.state.ended === "device_replaced" ? "replaced" : "revoked";   // its own app took its place: nothing is wrong
  return {
    title: say(`${kind}.title`), live: true,
    main: [
      heading(say(`${kind}.title`)), h("p", {}, say(`${kind}.words`)),
      app.state.outbox.length ? h("p", { class: "quiet" }, say(`${kind}.kept`)) : null,
      numbers(app),
    ].filter(Boolean),
    acts: [button(kind === "revoked" ? "go" : "alt", say("pair.again"), () => app.go("pair"))],
  };
}

/** Whom to ring, where nothing can be reported from here.
    @param {App} app */
export function numbersOnly(app) {
  const plan = app.state.plan?.body;
  return {
    title: say("numbers.title"), live: true,
    main: [
      heading(say("numbers.title")),
      plan ? numbers(app, { alarm: true, ring: plan.closed ? ringOf(plan.closed, app) : plan.ring }) : rows([{ words: say("numbers.none") }, { words: say("numbers.emergency") }]),
      h("p", { class: "quiet" }, say("numbers.not_sent")),
    ],
    acts: [button("alt", say("go_back"), () => history.back())],
    actsKind: "low",
  };
}

/* Something is wrong: the list, what is asked, and the clinic's text with the number for this hour. */

import { clock, ms } from "../core/clock.js";
import { canTakeBack, takeBackUntil } from "../core/stop.js";
import { offered, troubleOf as find, troublesOf } from "../core/trouble.js";
import { say } from "../core/words.js";
import { boutsOf, reportTroubles, takeBack } from "../store/log.js";
import { button, h, speak } from "./dom.js";
import { halfDone } from "./count.js";
import { troubleFigure } from "./figure.js";
import { heading } from "./frame.js";
import { choice, numbers, rows, said as lines } from "./parts.js";

/** @param {PlanApp} app */
const plan = (app) => app.state.plan.body;

/** A trouble as the course words it; the one on the screen where none is named.
    @param {PlanApp} app @param {string} kind @param {string} [id] */
const troubleOf = (app, kind, id) => find(plan(app), courseOf(app, id), kind);

/** @param {PlanApp} app @param {string} [id] */
const courseOf = (app, id) => plan(app).courses.find((course) => course.id === id) ?? app.course();

/** @param {PlanApp} app @param {string} key */
const textOf = (app, key) => app.state.plan.body.texts[key];

/** The list; `because` says why the phone opened it.
    @param {CourseApp} app @param {any} given */
export function wrong(app, { because = null } = {}) {
  const course = app.course();
  return {
    title: say("wrong.title"), live: true,   // the number is of this hour
    main: [
      heading(say(because ? `wrong.because_${because}` : "wrong.title")), because ? h("p", { class: "quiet" }, say("wrong.one_of_these")) : null, h("p", { class: "quiet" }, say("wrong.no_test")),
      choices(app, course, troublesOf(plan(app), course)),
      numbers(app),
    ].filter(Boolean),
    acts: [button("alt", say(because ? "wrong.none" : "go_back"), () => history.back())],
    actsKind: "low",
  };
}

/** Two that are hard to tell apart say what was seen, where the course offers both. */
const APART = ["finger_no_longer_lifts", "band_no_longer_lifts"];

/** @param {PlanApp} app @param {Course} course @param {Trouble[]} troubles */
const choices = (app, course, troubles) => rows(troubles.map((trouble) => ({
  words: trouble.label, under: APART.includes(trouble.kind) && offered(plan(app), course, APART).length > 1 && say(`wrong.saw.${trouble.kind}`), act: () => (trouble.asks?.length ? app.go("asks", { kind: trouble.kind }, { course: course.id }) : report(app, course, [trouble.kind])),
})));

/** Report and show what to do, with what was counted until now: it was done before.
    @param {PlanApp} app @param {Course} course @param {string[]} kinds @param {Json} details */
export async function report(app, course, kinds, details = {}) {
  const at = Date.now();
  const others = boutsOf(app.state, course, halfDone(app, course).map((go) => ({ ...go, pain: null, pain_asked: false })), at);
  const items = await reportTroubles(app.state, course, kinds, { details, others, at: at + 1 });
  await app.entered();
  return shown(app, items);
}

/** After a report: the Stop screen where one stops, else the text, and those of other answers below it.
    @param {PlanApp} app @param {any[]} items */
export function shown(app, items, keys = [], offers = []) {
  const stops = items.some((item) => troubleOf(app, item.kind, item.course)?.stop);
  app.chosen = items[0].course;
  if (stops) return app.home();
  const { id, kind, course, entered_at: at, offset_ms } = items[0];
  const more = [...items.slice(1).map((item) => troubleOf(app, item.kind, item.course)?.text), ...keys];
  return app.go("said", { id, kind, course, at, offset_ms, more, offers }, { replace: true });
}

/** A question or two beside a report. Leaving by any way but to the list reports it all the same.
    @param {CourseApp} app @param {any} args */
export function asks(app, args) {
  const { kind, details = {} } = args;
  const course = app.course();
  const trouble = troubleOf(app, kind);
  const send = () => {
    if (args.settled) return null;
    args.settled = true;   // of this screen, however often it is drawn
    return report(app, course, [kind], details);
  };
  const back = () => { args.settled = true; history.back(); };
  const pick = (ask, value) => app.show("asks", { kind, details: { ...details, [ask.key]: value } }, { quietly: true });
  return {
    title: trouble.label, live: true,
    main: [heading(trouble.label), ...trouble.asks.map((ask) => h("section", {}, h("h2", {}, ask.label),
      h("div", { class: "choices" }, ask.options.map((option) => choice(option.label, details[ask.key] === option.value, () => pick(ask, option.value)))))), numbers(app, { alarm: trouble.stop })],
    acts: [button("alt", say("go_back"), back), button("go", say("send"), send)],
    hidden: send,
    leave: (to) => (["asks", "wrong"].includes(to) ? null : send()),
  };
}

/** The text of a trouble that stops nothing, and whether the clinic has the report.
    @param {PlanApp} app @param {any} args */
export function said(app, args) {
  const trouble = troubleOf(app, args.kind, args.course);
  const words = trouble && textOf(app, trouble.text);
  const course = courseOf(app, args.course);
  return {
    title: trouble?.label ?? say("wrong.title"), live: true,
    main: [heading(words?.title ?? trouble?.label ?? ""), lines(words?.lines), troubleFigure(app, course, args.kind), sections(app, args.more ?? []), course && moreOf(app, course, args.offers ?? []), numbers(app, { emergencyFirst: trouble?.emergency }), sentLine(app, args), mistake(app, args)].flat().filter(Boolean),
    acts: [button("go", say("go_on"), app.home)],
    actsKind: "low",
  };
}

const sections = (app, keys) => textsOf(app, keys).map(({ title, body }) => h("section", {}, h("h2", {}, title), ...body));

/** The texts there are of these keys: {title, body: the lines, and the picture of the trouble that the key names (trouble.swelling.sling)}.
    @param {PlanApp} app @param {string[]} keys */
const textsOf = (app, keys) => keys.flatMap((key) => {
  const words = textOf(app, key);
  return words ? [{ title: words.title, body: [lines(words.lines), troubleFigure(app, app.course(), key.split(".")[1])] }] : [];
});

/** What can be reported beside a text, because a 'no' alone does not say which; or null.
    @param {PlanApp} app @param {Course} course @param {string[]} kinds */
function offersOf(app, course, kinds) {
  const found = offered(plan(app), course, kinds);
  return found.length ? choices(app, course, found) : null;
}

/** @param {PlanApp} app @param {Course} course @param {string[]} kinds */
function moreOf(app, course, kinds) {
  const list = offersOf(app, course, kinds);
  return list && h("section", {}, h("h2", {}, say("wrong.one_of_these")), list);
}

/** The texts that answers of the daily check open; what can be reported comes first, or it is not seen.
    @param {CourseApp} app @param {any} given */
export function text(app, { keys, offers = [] }) {
  const list = offersOf(app, app.course(), offers);
  const parts = textsOf(app, keys).map(({ title, body }, i) => h("section", {}, i || list ? h("h2", {}, title) : heading(title), ...body));
  return {
    title: say("check.title"), live: true,
    main: [list ? heading(say("wrong.one_of_these")) : null, list, parts, numbers(app)].flat().filter(Boolean),
    acts: [button(list ? "alt" : "go", say(list ? "wrong.none" : "go_on"), app.home)],
    actsKind: "low",
  };
}

/** "Sent at 14:02: I felt a snap." or that it still waits.
    @param {PlanApp} app @param {any} given */
export function sentLine(app, { id, kind, course, at, offset_ms = 0 }) {
  const entry = app.state.outbox.find((each) => each.item.id === id);
  const time = clock(ms(at) + offset_ms, app.zone(), app.language());
  const label = troubleOf(app, kind, course)?.label ?? say(`kind.${kind}`);
  return h("p", { class: "quiet", role: "status" }, say(entry?.unsaved ? "wrong.unsaved" : entry ? "wrong.waits" : "wrong.sent", { time, label }));
}

/** 'Pressed by mistake', for a short while, where it may be.
    @param {PlanApp} app @param {any} args */
export function mistake(app, args) {
  const kept = app.state.reports.find((each) => each.id === args.id) ?? args;
  const trouble = troubleOf(app, args.kind, args.course);
  if (!canTakeBack(kept, trouble, Date.now(), app.rules())) return null;
  const undo = async () => {
    await takeBack(app.state, { taken_back: false, stops: trouble.stop, acked_seq: null, ...kept });
    await app.entered();
    app.home();
    speak(say("wrong.taken_back"));
  };
  const element = button("alt", say("wrong.mistake"), undo);
  setTimeout(() => element.remove(), Math.max(0, takeBackUntil(kept, app.rules()) - Date.now()));
  return element;
}

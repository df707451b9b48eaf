/* The daily check: all on one screen, and 'no' is always the worse answer. */

import { asksOff, blocking, consequences, isTrouble, openCheck } from "../core/check.js";
import { weekday } from "../core/clock.js";
import { opensList } from "../core/pain.js";
import { painRule } from "../core/rules.js";
import { troubleOf } from "../core/trouble.js";
import { say } from "../core/words.js";
import { answerCheck } from "../store/log.js";
import { keep } from "../store/state.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { choice } from "./parts.js";
import { carers } from "./ways.js";
import { shown } from "./wrong.js";

const OFF = { off_hours: ["under_1", "1_to_2", "over_2"], off_why: ["sore", "wash", "other"] };

/** @param {CourseApp} app @param {any} given */
export function check(app, { answers = {}, details = {}, pain = undefined, asked = false } = {}) {
  const course = app.course();
  const open = openCheck(course, app.state.checked, app.now());
  if (!open) return { title: say("check.title"), main: [heading(say("check.done"))], acts: [button("go", say("go_on"), app.home)], actsKind: "low" };
  const given = { answers, details, pain, asked };
  const set = (more) => app.show("check", { ...given, ...more }, { quietly: true });
  const lacking = asked ? blocking(open, answers, details) : [];
  const tell = () => (isTrouble(open, answers, details) ? save(app, course, open, given, set) : null);
  return {
    title: say("check.title"),
    main: [
      h("p", { class: "quiet" }, say("check.once", { day: weekday(app.now(), app.zone(), app.language()) })), heading(say("check.how")), carers(app) ? h("p", { class: "quiet" }, say("carer.ask")) : null,
      lacking.length ? h("p", { class: "wrong", role: "alert" }, say("check.missing", { n: lacking.length })) : null,
      h("ol", { class: "checks" }, open.questions.map((q) => question(q, given, set, lacking.includes(q.key))), averagePain(pain, set)),
    ].filter(Boolean),
    acts: [button("alt", say("later"), () => tell() ?? app.home()), button("go", say("save"), () => save(app, course, open, given, set))],
    actsKind: "low",
    hidden: tell,
    leave: (to) => { if (to !== "check") tell(); },
  };
}

function question(q, { answers, details }, set, lacks) {
  const pick = (answer) => set({ answers: { ...answers, [q.key]: answer } });
  const off = asksOff(q, answers);
  return h("li", { class: lacks ? "missing" : null },
    h("div", { class: "q", role: "group", "aria-label": q.label }, h("p", {}, q.label), q.help ? h("p", {}, q.help) : null,
      h("div", { class: "choices" }, q.answers.map((answer) => choice(say(answer), answers[q.key] === answer, () => pick(answer))))),
    answers[q.key] === "cannot_see" ? h("p", { class: "quiet" }, say("check.cannot_see")) : null,
    off ? offPart(details, set) : null);
}

/** @param {Json} details @param {any} set */
function offPart(details, set) {
  const row = (key, values) => h("div", { class: "q", role: "group", "aria-label": say(`off.${key}`) }, h("p", {}, say(`off.${key}`)),
    h("div", { class: "choices" }, values.map(([value, words]) => choice(words, details[key] === value, () => set({ details: { ...details, [key]: value } })))));
  return h("div", { class: "off" },
    ...Object.entries(OFF).map(([key, values]) => row(key, values.map((value) => [value, say(`off.${value}`)]))),
    row("off_now", [[true, say("yes")], [false, say("no")]]));
}

/** @param {number | null | undefined} pain @param {any} set */
function averagePain(pain, set) {
  const pick = (n) => choice(String(n), pain === n, () => set({ pain: n }));
  return h("li", {}, h("div", { role: "group", "aria-label": say("check.pain") }, h("p", {}, say("check.pain")), h("p", { class: "quiet" }, say("check.scale")),
    h("div", { class: "small-pain" }, Array.from({ length: 11 }, (_, n) => pick(n))),
    h("div", { class: "choices" }, choice(say("check.skip_pain"), pain === null, () => set({ pain: null })))));
}

let telling = false;

/** @param {CourseApp} app @param {Course} course @param {Check} open @param {any} given @param {any} set */
async function save(app, course, open, { answers, details, pain }, set) {
  if (telling) return null;   // a second tap, or the leaving that follows
  if (blocking(open, answers, details).length) {
    set({ asked: true });
    document.querySelector(".missing button:not([aria-pressed=true])")?.focus();
    return null;
  }
  const off = open.questions.some((q) => asksOff(q, answers));
  const led = consequences(open, answers, details);
  telling = true;
  try {
    const items = await answerCheck(app.state, course, open, { answers, details: off ? details : {}, average_pain: pain ?? null }, led.troubles);
    await app.entered();
    return follow(app, course, led, items, await risen(app, course, pain ?? null));
  } finally {
    telling = false;
  }
}

/** Whether the average pain opens the list of red flags; it is opened at most once in a while.
    @param {App} app @param {Course} course @param {number | null} pain */
async function risen(app, course, pain) {
  if (!opensList(pain, painRule(course, app.rules()), app.state.opened?.[course.id], app.now())) return false;
  await keep("opened", { ...app.state.opened, [course.id]: { at: app.now(), pain } });
  return true;
}

/** One thing after the other: what was reported, else the texts, else the list, else home.
    @param {CourseApp} app @param {Course} course @param {Led} led @param {Item[]} items @param {boolean} pain */
function follow(app, course, led, items, pain) {
  const keys = [...led.texts, ...led.textsOf.map((kind) => troubleOf(app.state.plan.body, course, kind)?.text)].filter((key) => app.state.plan.body.texts[key]);
  if (items.length) return shown(app, items, keys, led.offers);
  if (led.list || pain) return app.go("wrong", { because: led.list ? "splint" : "pain" }, { replace: true });
  if (keys.length) return app.go("text", { keys, offers: led.offers }, { replace: true });
  app.home();
  return speak(say("check.saved"));
}

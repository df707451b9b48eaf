/* The daily check: all on one screen, and 'no' is always the worse answer. */

import { consequences, missing, openCheck } from "../core/check.js";
import { weekday } from "../core/clock.js";
import { say } from "../core/words.js";
import { answerCheck } from "../store/log.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { choice } from "./parts.js";
import { shown } from "./wrong.js";

const OFF = { off_hours: ["under_1", "1_to_3", "over_3"], off_why: ["sore", "wash", "other"] };

export function check(app, { answers = {}, details = {}, pain = undefined, asked = false } = {}) {
  const course = app.course();
  const open = openCheck(course, app.state.checked, app.now());
  if (!open) return { title: say("check.title"), main: [heading(say("check.done"))], acts: [button("go", say("go_on"), app.home)], actsKind: "low" };
  const given = { answers, details, pain, asked };
  const set = (more) => app.show("check", { ...given, ...more }, { quietly: true });
  const lacking = asked ? missing(open, answers) : [];
  return {
    title: say("check.title"),
    main: [
      h("p", { class: "quiet" }, say("check.once", { day: weekday(app.now(), app.zone(), app.language()) })), heading(say("check.how")),
      lacking.length ? h("p", { class: "wrong", role: "alert" }, say("check.missing", { n: lacking.length })) : null,
      h("ol", { class: "checks" }, open.questions.map((q) => question(q, given, set, lacking.includes(q.key))), averagePain(pain, set)),
    ].filter(Boolean),
    acts: [button("alt", say("later"), app.home), button("go", say("save"), () => save(app, course, open, given, set))],
    actsKind: "low",
  };
}

function question(q, { answers, details }, set, lacks) {
  const pick = (answer) => set({ answers: { ...answers, [q.key]: answer } });
  const off = q.on_no?.ask === "off" && answers[q.key] === "no";
  return h("li", { class: lacks ? "missing" : null },
    h("div", { class: "q", role: "group", "aria-label": q.label }, h("p", {}, q.label), q.help ? h("p", {}, q.help) : null,
      h("div", { class: "choices" }, q.answers.map((answer) => choice(say(answer), answers[q.key] === answer, () => pick(answer))))),
    off ? offPart(details, set) : null);
}

function offPart(details, set) {
  const row = (key, values) => h("div", { class: "q", role: "group", "aria-label": say(`off.${key}`) }, h("p", {}, say(`off.${key}`)),
    h("div", { class: "choices" }, values.map(([value, words]) => choice(words, details[key] === value, () => set({ details: { ...details, [key]: value } })))));
  return h("div", { class: "off" },
    ...Object.entries(OFF).map(([key, values]) => row(key, values.map((value) => [value, say(`off.${value}`)]))),
    row("off_now", [[true, say("yes")], [false, say("no")]]));
}

function averagePain(pain, set) {
  const pick = (n) => choice(String(n), pain === n, () => set({ pain: n }));
  return h("li", {}, h("div", { role: "group", "aria-label": say("check.pain") }, h("p", {}, say("check.pain")), h("p", { class: "quiet" }, say("check.scale")),
    h("div", { class: "small-pain" }, Array.from({ length: 11 }, (_, n) => pick(n))),
    h("div", { class: "choices" }, choice(say("check.skip_pain"), pain === null, () => set({ pain: null })))));
}

async function save(app, course, open, { answers, details, pain }, set) {
  if (missing(open, answers).length) {
    set({ asked: true });
    document.querySelector(".missing button")?.focus();
    return null;
  }
  const asksOff = open.questions.some((q) => q.on_no?.ask === "off" && answers[q.key] === "no");
  const led = consequences(open, answers, details);
  const items = await answerCheck(app.state, course, open, { answers, details: asksOff ? details : {}, average_pain: pain ?? null }, led.troubles);
  await app.entered();
  return follow(app, led, items);
}

function follow(app, led, items) {
  if (items.length) return shown(app, items, led.texts);
  if (led.list) return app.go("wrong", { because: "splint" }, { replace: true });
  if (led.texts.length) return app.go("text", { keys: led.texts }, { replace: true });
  app.home();
  return speak(say("check.saved"));
}

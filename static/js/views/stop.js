/* Stop: it stays until the server resumes, also without a network. */

import { holding, resting, serverStop } from "../core/stop.js";
import { say } from "../core/words.js";
import { button, h, halt } from "./dom.js";
import { troubleFigure } from "./figure.js";
import { heading } from "./frame.js";
import { troubleOf } from "../core/trouble.js";
import { isolated, numbers, outOfTouch, said, seenBy } from "./parts.js";
import { mistake, sentLine } from "./wrong.js";

/** @param {CourseApp} app */
export function stop(app) {
  const course = app.course();
  const of = (kind) => troubleOf(app.state.plan.body, course, kind);
  const own = holding(app.state.reports, course.id).map((report) => ({ report, trouble: of(report.kind) }));
  own.sort((a, b) => Number(b.trouble?.emergency ?? false) - Number(a.trouble?.emergency ?? false) || (a.report.at < b.report.at ? 1 : -1));
  const told = serverStop(course, app.state.reports, app.state.plan.seq);
  const mine = own.filter(({ trouble }) => trouble?.emergency);
  const emergency = mine.length > 0 || Boolean(told && of(told.kind)?.emergency);   // told by another phone too
  const words = texts(app, course, emergency ? mine : own, told);   // an emergency's text stands alone: others may contradict it
  const ring = numbers(app, { alarm: true, emergencyFirst: emergency });
  return {
    title: say("stop.title"), live: true,
    main: [
      h("div", { class: "halt" }, halt(), heading(say("stop.title"))),
      emergency ? [first(app), ring, words] : [words, ring],
      own.map(({ report }) => [sentLine(app, report), mistake(app, report)]), outOfTouch(app),
    ].flat(3).filter(Boolean),
    acts: [h("div", { class: "foot" }, seenBy(app, course), h("p", { class: "until" }, say("stop.until")))],
    actsKind: "low",
  };
}

/** Which number comes first, by itself; without an emergency number the unit's stands alone.
    @param {PlanApp} app */
function first(app) {
  const { emergency } = app.state.plan.body;
  return emergency && h("p", { class: "until" }, say("stop.first", { tel: isolated(emergency.tel) }));
}

/** The clinic's own words for each report; without any, the bare rule.
    @param {PlanApp} app @param {Course} course @param {any[]} own @param {ServerStop | null} told */
function texts(app, course, own, told) {
  const signed = new Map(own.map(({ report, trouble }) => [app.state.plan.body.texts[trouble?.text], report.kind]));
  signed.delete(undefined);
  if (signed.size) return [...signed].map(([words, kind]) => words && h("section", {}, h("h2", {}, words.title), said(words.lines), troubleFigure(app, course, kind)));
  return [said(own.length || !told?.lines?.length ? [say("stop.rest"), say("stop.ring")] : told.lines), troubleFigure(app, course, told?.kind)];
}

/** Told something different, and the clinic does not know it yet: its own words, and the number. No caution of exercises that rest.
    @param {CourseApp} app */
export function rests(app) {
  const course = app.course();
  const report = app.state.reports.find((each) => resting([each], course.id));
  const words = app.state.plan.body.texts[troubleOf(app.state.plan.body, course, "told_different")?.text];
  return {
    title: words?.title ?? say("now.no_plan"), live: true,
    main: [heading(words?.title ?? say("now.no_plan")), said(words?.lines ?? [say("stop.rest")]), numbers(app),
      report && [sentLine(app, report), mistake(app, report)]].flat().filter(Boolean),
    acts: [button("alt", say("plan.title"), () => app.go("plan"))],
    actsKind: "low",
  };
}

/* What the phone asks by itself: 'Anything wrong since your visit?' and 'All well?'. */

import { today } from "../core/day.js";
import { say } from "../core/words.js";
import { answerAllWell, answerRelease, askAllWell } from "../store/log.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { painScale, rows } from "./parts.js";

/** Left for later: it waits as a row of the Now screen.
    @param {App} app @param {string} id */
function later(app, id) {
  app.putOff.add(id);
  app.home();
}

/** Before a signed stage begins; until it has begun the present one goes on.
    @param {ReleaseApp} app */
export function release(app) {
  const course = app.course();
  const question = course.release_question;
  const answer = async (word) => {
    await answerRelease(app.state, course, word);
    await app.entered();
    if (word === "something") return app.go("wrong", { because: "visit" }, { replace: true });
    app.home();
    return speak(say("release.sent"));
  };
  return {
    title: say("release.title"), live: true,
    main: [
      heading(say("release.title")), question.phase ? h("p", { class: "quiet" }, say("release.next", { stage: question.phase })) : null,
      h("p", {}, say("release.until")),
      button("skip", say("later"), () => later(app, question.id)),
    ].filter(Boolean),
    acts: [button("alt", say("release.something"), () => answer("something")), button("alt", say("release.nothing"), () => answer("nothing"))],
    actsKind: "even",   // neither answer may be the easier one
  };
}

/** After some waking hours without a log. That it was asked is told as well: staff hear only of a question that stands.
    @param {CourseApp} app */
export function well(app) {
  const course = app.course();
  markAsked(app, course);
  const answer = async (word) => {
    await answerAllWell(app.state, course, word, null, today(course, app.now()), app.now());
    await app.entered();
    if (word === "something_wrong") return app.go("wrong", {}, { replace: true });
    return app.go("well_said", { word }, { replace: true });
  };
  /** @param {string} word @param {() => any} act */
  const row = (word, act = () => answer(word)) => ({ words: say(`well.${word}`), act });
  return {
    title: say("well.title"), live: true,
    main: [
      heading(say("well.title")), h("p", {}, say("well.why")),
      rows([row("busy"), row("sore", () => app.go("sore", {})), row("phone"), row("something_wrong")]),
      h("p", { class: "quiet" }, say("well.log")),
    ],
    acts: [button("alt", say("later"), () => later(app, `well ${course.id}`))],
    actsKind: "low",
  };
}

let marking = false;

/** Asked once a course day, and only when it is really on the screen.
    @param {App} app @param {Course} course */
function markAsked(app, course) {
  const day = today(course, app.now());
  const asked = app.state.wells[course.id];
  if (marking || asked?.day === day && !asked?.answer) return;
  marking = true;
  askAllWell(app.state, course, day, app.now()).then(app.entered).finally(() => { marking = false; });
}

/** Sore: how much, then the list of what may be wrong.
    @param {CourseApp} app */
export function sore(app) {
  const course = app.course();
  const give = async (pain) => {
    await answerAllWell(app.state, course, "sore", pain, today(course, app.now()), app.now());
    await app.entered();
    app.go("wrong", { because: "sore" }, { replace: true });
  };
  return {
    title: say("pain.title"),
    main: [heading(say("pain.title")), h("p", { class: "quiet" }, say("well.pain")), painScale(give)],
    acts: [button("skip", say("pain.skip"), () => give(null))],
    actsKind: "low",
  };
}

/** What follows from 'busy' or 'the phone'.
    @param {App} app @param {any} given */
export const wellSaid = (app, { word }) => ({
  title: say("well.title"),
  main: [heading(say("well.thanks")), h("p", {}, say(`well.said.${word}`)), word === "busy" ? h("p", {}, say("well.one")) : null,
    word === "phone" ? rows([{ words: say("reminders.title"), act: () => app.go("prompts") }]) : null].filter(Boolean),
  acts: [button("go", say("go_on"), app.home)],
});

/* 'Is this your hand?', and the choice between two hands. */

import { courseName, say } from "../core/words.js";
import { due } from "../core/day.js";
import { homeOf } from "../core/gate.js";
import { answerHand } from "../store/log.js";
import { button, h } from "./dom.js";
import { figuresFor } from "./figure.js";
import { leadOn } from "./first.js";
import { heading } from "./frame.js";
import { rows } from "./parts.js";

/** The first screen after confirmation; 'no' stops everything.
    @param {HandApp} app */
export function hand(app) {
  const course = app.course();
  const { hand: side, finger, splint } = course.hand_question;
  const answer = async (word) => {
    await answerHand(app.state, course, word);
    if (word === "yes") await leadOn(app);
    await app.entered();
    app.home();
  };
  return {
    title: say("hand.title"), live: true,
    main: [
      heading(say("hand.title")),
      h("p", { class: "hand" }, h("b", {}, side)), h("p", { class: "hand" }, h("b", {}, finger)),
      figuresFor(app, course, "fingers"),
      splint ? [h("p", { class: "quiet" }, say("hand.splint")), h("p", { class: "step" }, splint)] : null,
      h("p", { class: "quiet" }, say("hand.look")),
    ].flat().filter(Boolean),
    acts: [button("alt", say("no"), () => answer("no")), button("go", say("yes"), () => answer("yes"))],
    actsKind: "even",   // neither answer may be the easier one
  };
}

/** Two open courses: choose by hand and finger.
    @param {PlanApp} app @param {any} given */
export function choose(app, { then = "home" } = {}) {
  const pick = (course) => {
    app.chosen = course.id;
    app.go(then, {}, { replace: false });
  };
  return {
    title: say("choose.title"), live: true,
    main: [heading(say("choose.title")), rows(app.state.plan.body.courses.map((course) => ({
      words: courseName(course) || say("choose.unnamed"), far: stateOf(app, course), act: () => pick(course),
    })))],
  };
}

/** @param {PlanApp} app @param {Course} course */
function stateOf(app, course) {
  const screen = homeOf(course, app.state, app.at());
  if (["stop", "hand", "before", "closed"].includes(screen)) return say(`choose.${screen}`);
  return due(course, app.log(), app.now()).length ? say("choose.due") : say("choose.not_due");
}

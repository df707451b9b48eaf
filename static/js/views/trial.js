/* A test reminder: sent when asked for, and said to have arrived when its receipt has. */

import { say } from "../core/words.js";
import { Refused } from "../net/api.js";
import { lookAtTest, sendTest } from "../net/reminders.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { rows, said } from "./parts.js";

const PATIENCE_MS = 60_000;
const LOOK_MS = 2_000;
const HELP = ["test.try_silent", "test.try_allow", "test.try_battery", "test.try_again"];

/** `stage`: null, "sending", "waiting", "arrived", "late" or "failed" (then `why` says so).
    @param {App} app @param {any} given @param {any} given */
export function trial(app, { stage = null, why = null, outcome = null } = {}, { next }) {
  const send = () => run(app);
  const again = button(stage === "arrived" ? "alt" : "go", say(stage ? "test.once_more" : "test.go"), send);
  const onward = button(stage === "arrived" ? "go" : "alt", say(stage ? "go_on" : "not_now"), next);
  const busy = stage === "sending" || stage === "waiting";
  return {
    title: say("test.title"),
    main: [heading(say(stage === "arrived" || stage === "late" ? `test.${stage}` : "test.title")), ...words(app, stage, why, outcome)].filter(Boolean),
    acts: busy ? [h("p", { class: "until", role: "status" }, say(`test.${stage}`))] : stage === "arrived" ? [again, onward] : [onward, again],
    leave: () => { asked += 1; },
  };
}

function words(app, stage, why, outcome) {
  if (stage === "arrived") return [h("p", {}, say("test.arrived_words"))];
  if (stage === "late") return [h("p", {}, say("test.late_words")), said(HELP.map((key) => say(key))), app.shown.name === "test" ? rows([{ words: say("calendar.title"), act: () => app.go("calendar") }]) : null];
  return [outcome === "granted" ? h("p", {}, say("reminders.state.granted")) : null, why ? h("p", { class: "wrong", role: "alert" }, say(why)) : null, h("p", { class: "step" }, say("test.what")), h("p", {}, say("test.how"))];
}

let asked = 0;   // which asking the screen waits for; one that was left is not gone on with

/** @param {App} app */
async function run(app) {
  const { name } = app.shown;
  /** @param {string} stage @param {string | null} why */
  const show = (stage, why = null) => {
    app.show(name, { stage, why }, { quietly: true });   // leaving for itself counts as leaving, so the number is taken anew
    if (stage === "arrived" || stage === "late") speak(say(`test.${stage}`));
    return asked;
  };
  let mine = show("sending");
  try {
    let { send, state } = await sendTest();
    if (mine !== asked) return;
    mine = show("waiting");
    for (const until = Date.now() + PATIENCE_MS; state !== "arrived" && state !== "not_sent" && Date.now() < until;) {
      await new Promise((wake) => setTimeout(wake, LOOK_MS));
      if (mine !== asked) return;
      ({ state } = await lookAtTest(send).catch(() => ({ state })));   // no signal for a moment: look again
    }
    if (mine === asked) show(state === "arrived" ? "arrived" : "late");
  } catch (error) {
    if (mine === asked) show("failed", error instanceof Refused ? (error.code === "no_subscription" ? "test.off" : "test.refused") : "test.no_signal");
  }
}

/* The home screen: the steps this browser has, told by what it can do; and the code for the app there. */

import { plainCode } from "../core/code.js";
import { say } from "../core/words.js";
import { Refused } from "../net/api.js";
import { handOver } from "../net/plan.js";
import { load, waiting } from "../store/state.js";
import { button, h, s, speak } from "./dom.js";
import { heading } from "./frame.js";
import { rows } from "./parts.js";

let prompt = null;   // the browser's own offer, kept for the tap

/** Listen from the start: the offer comes once.
    @param {App} app */
export function keepOffer(app) {
  addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault();
    prompt = event;
    if (app.view?.offers) app.show(app.shown.name, app.shown.args, { quietly: true });
  });
}

/** Whether this is the app on the home screen already. */
export const installed = () => matchMedia("(display-mode: standalone)").matches || /** @type {any} */ (navigator).standalone === true;

/** "done", "offer", "share" or "menu": by what the browser has, never by its name. */
function how() {
  if (installed()) return "done";
  if (prompt) return "offer";
  return "standalone" in navigator ? "share" : "menu";
}

/** @param {App} app @param {any} given @param {any} given */
export function install(app, { accepted = false, code = null, why = null, busy = false } = {}, { next }) {
  const way = accepted ? "done" : how();
  if (code) return handing(app, code, next);
  return {
    title: say("install.title"), offers: true,
    main: [
      heading(say(way === "done" ? "install.done" : "install.title")), why ? h("p", { class: "wrong", role: "alert" }, say(why.key, why)) : null,
      ...(way === "done" ? [h("p", {}, say("install.done_words"))] : [h("p", {}, say("install.why")), ...steps(way)]),
      way === "menu" ? rows([{ words: say("install.asks_code"), act: () => show(app) }]) : null,
    ].filter(Boolean),
    acts: busy ? [h("p", { class: "until", role: "status" }, say("hand_over.busy"))] : acts(app, way, next),
  };
}

function acts(app, way, next) {
  if (way === "done") return [button("go", say("go_on"), next)];
  if (way === "menu") return [button("go", say("go_on"), next)];
  const go = way === "offer" ? button("go", say("install.go"), () => offer(app)) : button("go", say("install.code"), () => show(app));
  return [button("alt", say("not_now"), next), go];
}

function steps(way) {
  if (way === "offer") return [];
  const list = [1, 2, 3, ...(way === "share" ? [4] : [])];
  return [h("ol", { class: "steps" }, list.map((n) => h("li", {}, h("span", {}, say(`install.${way}_${n}`)), way === "share" && n === 1 ? shareSign() : null)))];
}

/** The sign on the button that is meant: a sheet with an arrow up. */
const shareSign = () => s("svg", { class: "icon", viewBox: "0 0 24 24", "aria-hidden": "true" }, s("path", { d: "M12 15V3M8 6.5 12 2.5l4 4M8 10H5.5v11h13V10H16" }));

/** @param {App} app */
async function offer(app) {
  const asked = prompt;
  prompt = null;   // it is good once
  asked.prompt();
  const { outcome } = await asked.userChoice;
  app.show(app.shown.name, outcome === "accepted" ? { accepted: true } : {});
}

/** What waits here is sent first, or it would be left behind; then the code.
    @param {App} app */
async function show(app) {
  const { name } = app.shown;
  app.show(name, { busy: true });
  const told = await ask(app);
  if (app.shown.name === name) app.show(name, told);
}

/** @param {App} app */
async function ask(app) {
  await app.meet({});
  const left = waiting(app.state);
  if (left) return { why: { key: "hand_over.waits", n: left } };
  try {
    return { code: await handOver() };
  } catch (error) {
    app.state = await load();
    return { why: { key: error instanceof Refused ? "hand_over.refused" : "hand_over.no_signal" } };
  }
}

/** The code, large; the page ends by itself when the app has the plan. */
function handing(app, { code, minutes }, next) {
  const copied = h("p", { id: "copied", class: "until" });
  const copy = async () => {
    const done = await navigator.clipboard?.writeText(plainCode(code)).then(() => true, () => false);
    speak(say(done ? "hand_over.copied" : "hand_over.not_copied"));
    copied.textContent = say(done ? "hand_over.copied" : "hand_over.not_copied");
  };
  return {
    title: say("hand_over.title"),
    main: [heading(say("hand_over.title")), h("p", { class: "code", dir: "ltr" }, code), h("p", { class: "step" }, say("hand_over.how")), h("p", {}, say("hand_over.good", { n: minutes })), copied,
      rows([{ words: say("hand_over.new"), act: () => show(app) }])],
    acts: [button("alt", say("go_on"), next), button("go", say("hand_over.copy"), copy)],
  };
}

/* How the phone starts, and what wakes it: visible, online, a minute gone, a word from the worker. */

import { home } from "../core/gate.js";
import { setPhrases } from "../core/words.js";
import { look, takeOver } from "../net/update.js";
import { keep, load } from "../store/state.js";
import { hear } from "../store/word.js";
import { ringInApp } from "./in_app.js";
import { keepOffer } from "./install.js";
import { app } from "./stage.js";
import { secretInLink } from "./pair.js";

const EVERY_MS = 60_000;
const STALE_MS = 10 * EVERY_MS;
const JUST_CHANGED_MS = 2.5 * EVERY_MS;
const SUIT = "#reminders";   // a reminder that asks whether reminders suit

/** The question about reminders; never before a stop or the first questions. */
function suit() {
  app.home();
  if (["now", "well", "release", "choose"].includes(home(app.state, app.at(), app.chosen))) app.go("suit");
}

/** Start the app. */
export async function start() {
  keepOffer(app);
  const asked = location.hash === SUIT;
  const secret = secretInLink();
  app.state = await load();
  await english();
  app.secret = secret;
  const first = secret ? "pair" : "home";
  history.replaceState({ name: first, args: {} }, "", location.pathname);
  app.show(first);
  if (asked) suit();
  listen();
  worker();
  navigator.storage?.persist?.();
  await app.meet({ stale: true });
}

/** Beneath every language: what is not signed off in one is said in English. */
async function english() {
  const answer = await fetch("/shared/phrases/en.json").catch(() => null);
  if (answer?.ok) setPhrases(await answer.json());
}

/** Old, or so new that what it announced (a stage begins at a whole minute) was still to come when it was fetched.
    @param {Plan | null} plan */
function ageing(plan) {
  const now = Date.now();
  return now - (plan?.at ?? 0) > STALE_MS || now - (plan?.changed ?? 0) < JUST_CHANGED_MS;
}

function listen() {
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") seen();
    else unseen();
  });
  window.addEventListener("online", () => app.meet({ stale: true }));
  setInterval(() => app.meet({ timed: true, stale: ageing(app.state.plan) }), EVERY_MS);
  window.addEventListener("unhandledrejection", (event) => {
    if (event.reason?.name !== "NotSaved") return;
    event.preventDefault();
    app.notSaved();
  });
  hear(app.reload);
  ringInApp(app);
}

const registered = () => navigator.serviceWorker?.getRegistration("/phone/");

async function seen() {
  app.meet({ stale: true });
  look(await registered());
}

/** Out of sight a new version may take over; a screen being filled in is left alone. */
async function unseen() {
  app.view?.hidden?.();
  if (!await takeOver(await registered())) return;
  if (document.visibilityState === "hidden" && app.shown.name === "home") location.reload();
}

async function worker() {
  if (!("serviceWorker" in navigator)) return;
  navigator.serviceWorker.addEventListener("message", (event) => { if (event.data?.kind === "tapped") (event.data.url?.endsWith(SUIT) ? suit : app.home)(); });
  /** @type {RegistrationOptions} */
  const options = { type: "module", scope: "/phone/", updateViaCache: "none" };
  const registration = await navigator.serviceWorker.register("/phone/sw.js", options).catch(() => null);
  app.hasWorker = Boolean(registration);
  if (!registration) return;
  await keepPushState();
  await takeOver(registration);   // nothing has been entered yet; this page goes on as it was loaded
}

/** A permission taken away in the system's settings must reach the clinic. */
async function keepPushState() {
  const { push } = app.state;
  if (push === "granted" && Notification.permission !== "granted") await keep("push", Notification.permission);
}

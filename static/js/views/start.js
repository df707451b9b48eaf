/* How the phone starts, and what wakes it: visible, online, a minute gone, a word from the worker. */

import { keep, load } from "../store/state.js";
import { setPhrases } from "../core/words.js";
import { app } from "./stage.js";
import { secretInLink } from "./pair.js";

const EVERY_MS = 60_000;
const STALE_MS = 10 * EVERY_MS;

/** Start the app. */
export async function start() {
  const secret = secretInLink();
  app.state = await load();
  await words(app.language());
  app.secret = secret;
  history.replaceState({ name: secret ? "pair" : "home", args: {} }, "", location.pathname);
  app.show(secret ? "pair" : "home");
  listen();
  worker();
  navigator.storage?.persist?.();
  await app.meet({ stale: true });
  await words(app.language());
}

async function words(language) {
  const answer = await fetch(`/shared/phrases/${language}.json`).catch(() => null);
  if (answer?.ok) setPhrases(await answer.json(), language);
  else if (language !== "en") await words("en");
}

function listen() {
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") app.meet({ stale: true });
    else app.view?.hidden?.();
  });
  window.addEventListener("online", () => app.meet({ stale: true }));
  setInterval(() => app.meet({ timed: true, stale: Date.now() - (app.state.plan?.at ?? 0) > STALE_MS }), EVERY_MS);
  new BroadcastChannel("homeprog").addEventListener("message", app.reload);
}

async function worker() {
  if (!("serviceWorker" in navigator)) return;
  navigator.serviceWorker.addEventListener("message", (event) => { if (event.data?.kind === "tapped") app.home(); });
  const options = { type: "module", scope: "/phone/", updateViaCache: "none" };
  const registration = await navigator.serviceWorker.register("/phone/sw.js", options).catch(() => null);
  app.hasWorker = Boolean(registration);
  if (registration) await keepPushState();
}

/** A permission taken away in the system's settings must reach the clinic. */
async function keepPushState() {
  const { push } = app.state;
  if (push === "granted" && Notification.permission !== "granted") await keep("push", Notification.permission);
}

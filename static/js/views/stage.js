/* The stage: holds the state, knows which screen is shown, and draws the frame round it. */

import { allowed, home } from "../core/gate.js";
import { meet } from "../net/flush.js";
import { ms } from "../core/clock.js";
import { rulesOf } from "../core/rules.js";
import { asksAllWell } from "../core/silence.js";
import { load } from "../store/state.js";
import { say, speakAs } from "../core/words.js";
import { leftOff, overtaken } from "./count.js";
import { h, speak } from "./dom.js";
import { leads } from "./first.js";
import { frame } from "./frame.js";
import { SCREENS } from "./screens.js";

const TAP_MS = 1000;   // a tap is over by then
const DOUBLE_MS = 500, NEAR_PX = 30;   // taps this near in time and place are one, of a shaking hand
const AT_HAND_MS = 3 * 60_000;   // a word from the clinic as fresh as this: it is at hand

/** @type {App} */
export const app = /** @type {any} */ ({ state: null, shown: null, view: null, chosen: null, held: null, draft: null, pacing: null, putOff: new Set(), hasWorker: true });

/** The phone's now in ms: its clock plus the server's offset. */
app.now = () => Date.now() + app.state.offset_ms;

app.zone = () => /** @type {WithPlan} */ (app.state).plan.body.zone;

/** The clinic's figures. */
app.rules = () => rulesOf(app.state.plan?.body);

/** What the phone knows of what was done: its bouts, the plan they are held against (none has seen any), the clinic's figures, since when it is linked. */
app.log = () => ({ bouts: app.state.bouts, seq: app.state.plan?.seq ?? -1, rules: app.rules(), linked: ms(app.state.plan?.body.device?.since ?? "") || 0 });

/** What decides which screen is home, besides the state. */
app.at = () => ({
  now: app.now(), putOff: app.putOff,
  online: navigator.onLine && Date.now() - (app.state.contact ?? 0) < AT_HAND_MS,
  first: () => leads(app),
  allWell: (course) => asksAllWell(course, app.state.wells[course.id], app.log(), app.now(), quietIn),
});

/** Muted by 'Quiet until' on this phone, which the plan may not know yet.
    @param {Slot} slot */
function quietIn(slot) {
  const { quiet } = app.state;
  return Boolean(quiet?.from && ms(quiet.from) <= ms(slot.start) && ms(slot.start) < ms(quiet.until));
}

app.language = () => app.state.plan?.body.language ?? "en";

/** @param {string | null} id */
const courseOf = (id) => (app.state.plan?.body.courses ?? []).find((course) => course.id === id) ?? null;

/** The course on the screen: the one it was opened for and no other; else the chosen one, else the only one. */
app.course = () => {
  if (app.held) return courseOf(app.held);
  const courses = app.state.plan?.body.courses ?? [];
  return courseOf(app.chosen) ?? (courses.length === 1 ? courses[0] : null);
};

let lifted = Promise.resolve();

/** A finger on the glass: nothing is drawn anew under it, or what it taps would be gone when it is lifted. */
function pressed() {
  lifted = new Promise((resolve) => {
    setTimeout(resolve, TAP_MS);
    for (const end of ["pointerup", "pointercancel"]) window.addEventListener(end, () => setTimeout(resolve), { once: true });
  });
}

window.addEventListener("pointerdown", pressed, true);

let drawn = 0;
let last = { at: -Infinity, x: 0, y: 0 };

/** The second tap of a double tap, or the third, was meant for the screen before. A finger's are told by time and place: not every browser counts them. */
window.addEventListener("click", (event) => {
  const { timeStamp: at, clientX: x, clientY: y, detail, pointerType } = /** @type {PointerEvent} */ (event);
  const near = at - last.at < DOUBLE_MS && Math.hypot(x - last.x, y - last.y) < NEAR_PX;
  if ((pointerType === "mouse" ? detail > 1 : near) && drawn > last.at) {
    event.preventDefault();
    event.stopPropagation();
  } else last = { at, x, y };
}, true);

/** Draw a screen that only shows anew, with newer figures. */
app.redraw = async () => {
  await lifted;
  if (app.view?.live) app.show(app.shown.name, app.shown.args, { quietly: true });
};

/** Read the state again; screens that only show are drawn anew, screens being filled in are left alone. */
app.reload = async () => {
  app.state = await load();
  const mustStop = app.view?.yields && home(app.state, app.at(), app.course()?.id) === "stop";
  if (mustStop) app.show("home");
  else if (app.shown?.name === "count" && overtaken(app)) leftOff(app);
  else await app.redraw();
};

/** Go to a screen; it becomes a step that the phone's Back undoes, unless it takes the place of the one before.
    It stays with the course it was opened for. */
app.go = (name, args = {}, { replace = name === "home", course = app.course()?.id ?? null } = {}) => {
  app.held = name === "home" ? null : course;
  history[replace ? "replaceState" : "pushState"]({ name, args, course: app.held }, "", location.pathname);
  app.show(name, args);
};

app.home = () => app.go("home");

/** Draw a screen. `quietly` keeps focus and place: it is the same screen with newer figures. */
app.show = (name, args = {}, { quietly = false } = {}) => {
  const real = allowed(name, app.state, app.at(), app.course());
  app.view?.leave?.(real);
  app.shown = real === name || name === "home" ? { name, args } : { name: "home", args: {} };
  const held = quietly ? { place: focusMark(), scroll: scrollers().map((part) => part.scrollTop) } : null;
  speakAs(app.state.words, app.language());
  app.view = SCREENS[real](app, app.shown.args);
  frame(app, real);
  if (quietly) return refocus(held);
  drawn = performance.now();
  return arrive();
};

/** @returns {(Element | null)[]} */
const tappable = () => [...document.querySelectorAll("#phone button, #phone a, #phone summary, #phone input")];

const focusMark = () => tappable().indexOf(document.activeElement);

const scrollers = () => [...document.querySelectorAll("#phone .roll, #phone main")];

/** @param {any} given */
function refocus({ place, scroll }) {
  scrollers().forEach((part, i) => { part.scrollTop = scroll[i] ?? 0; });
  if (place >= 0) tappable()[place]?.focus({ preventScroll: true });
}

function arrive() {
  speak("");   // what was said of the screen before does not stay to be read on this one
  document.querySelector("#phone h1")?.focus({ preventScroll: true });
}

/** Send and fetch, then show what came of it. */
app.meet = async (how) => {
  const bare = !app.state.device;
  await meet("page", how);
  await app.reload();
  if (bare && app.state.device && app.shown.name === "home") app.go("recovered", {}, { replace: true });
};

/** What was entered last is not on this phone: said where it was entered. */
app.notSaved = () => {
  document.querySelector("main").append(h("p", { class: "wrong", role: "alert" }, say("not_saved")));
};

/** After something was entered: read it back, and send once that is on the screen. */
app.entered = async () => {
  app.state = await load();
  setTimeout(() => app.meet({}).then(askForSync));
};

async function askForSync() {
  if (!app.state.outbox.length) return;
  const registration = await navigator.serviceWorker?.getRegistration("/phone/");
  await registration?.sync?.register("outbox").catch(() => {});   // where the system has no such thing, timers do it
}

/** Back: the screen with the course it was opened for; without that course, home.
    @param {PopStateEvent} event */
function back({ state }) {
  const gone = state?.course && !courseOf(state.course);
  app.held = gone ? null : (state?.course ?? null);
  if (app.chosen && app.held) app.chosen = app.held;
  if (gone || !state) app.show("home");
  else app.show(state.name, state.args);
}

window.addEventListener("popstate", back);

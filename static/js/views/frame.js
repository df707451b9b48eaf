/* The frame round every screen: whose hand, the menu, the act row, and the strip that never moves. */

import { runsLeft, say } from "../core/words.js";
import { aloudButton, hushOnLeaving } from "./aloud.js";
import { below, watchBelow } from "./below.js";
import { button, h, icon } from "./dom.js";
import { big, carers } from "./ways.js";

/** Draw the frame round the screen `app.view`.
    @param {App} app @param {string} real */
export function frame(app, real) {
  const { view, state } = app;
  const phone = document.getElementById("phone");
  phone.className = `phone thumb-${app.course()?.working_side ?? "right"} on-${real}${big(app) ? " roomy" : ""}`;
  tellLanguage(app);
  document.title = `${view.title} - Homeprog`;
  hushOnLeaving(`${real} ${view.title}`);
  phone.replaceChildren(
    h("div", { class: "roll" }, state.plan?.body.demo && h("p", { class: "invented" }, say("invented")), top(app), h("main", { onclick: view.tap ? (event) => anywhere(event, view.tap) : null }, view.main), below(), acts(view)),
    strip(app, real),
  );
  for (const part of phone.querySelectorAll(".roll, main")) {
    if (part.scrollHeight > part.clientHeight && getComputedStyle(part).overflowY === "auto") part.tabIndex = 0;   // a keyboard must be able to scroll it
  }
  watchBelow(phone);
}

/** A tap beside what can be tapped; the button for it is in the act row. */
const anywhere = (event, act) => (event.target.closest("button, a, input, summary") ? null : act());

/** @param {App} app */
function tellLanguage(app) {
  const root = document.documentElement;
  root.lang = app.language();
  if (!root.dataset.dirKept) root.dir = runsLeft(app.language()) ? "rtl" : "ltr";
}

/** @param {App} app */
function top(app) {
  const course = app.course();
  const whose = course?.hand ? [course.hand, say("figure.comma"), h("b", {}, course.finger)] : ["Homeprog"];
  return h("header", { class: "top" },
    h("p", {}, whose, carers(app) ? h("span", { class: "by" }, say("carer.logs")) : null),
    aloudButton(app),
    app.state.plan && h("button", { type: "button", "aria-label": say("menu"), onclick: () => app.go("menu") }, icon("menu")));
}

function acts(view) {
  const shown = (view.acts ?? []).filter(Boolean);
  const two = shown.length === 2 && view.actsKind !== "stack" ? "two" : "";
  return h("div", { class: `acts ${two} ${view.actsKind ?? ""}` }, shown);
}

/** @param {App} app @param {string} real */
function strip(app, real) {
  const here = ["wrong", "asks", "said", "numbers"].includes(real);
  return button("trouble", [icon("wrong"), h("span", {}, say("something_wrong"))], () => wrong(app), { "aria-current": here ? "true" : null });
}

/** @param {App} app */
function wrong(app) {
  const open = !app.state.ended && app.state.plan && !app.state.plan.body.closed && app.course()?.state !== "closed";
  if (!open) return app.go("numbers");
  return app.course() ? app.go("wrong") : app.go("choose", { then: "wrong" });
}

/** The heading of a screen, which takes focus when one arrives.
    @param {string} words @param {string | null} kind */
export const heading = (words, kind = null) => h("h1", { tabindex: "-1", class: kind }, words);

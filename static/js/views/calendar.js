/* A calendar file for the phone's own calendar, with what it can and cannot do. */

import { dateWords } from "../core/clock.js";
import { say } from "../core/words.js";
import { Refused } from "../net/api.js";
import { fetchCalendar, keepCalendar } from "../net/reminders.js";
import { load } from "../store/state.js";
import { button, h } from "./dom.js";
import { heading } from "./frame.js";
import { rows, said } from "./parts.js";
import { setWays } from "./ways.js";

const NAME = "homeprog.ics";
const LIMITS = ["calendar.plain", "calendar.blind", "calendar.rings_on"];

/** The file is fetched first, so that the tap on its link is all that is left to do.
    @param {App} app @param {any} given @param {any} given */
export function calendar(app, { made = null, taken = false, why = null } = {}, { next }) {
  const go = () => app.go("calendar", { made, taken: true }, { replace: true });   // a screen of its own: the step is done
  return {
    title: say("calendar.title"),
    main: [
      heading(say(taken ? "calendar.got" : "calendar.title")), why ? h("p", { class: "wrong", role: "alert" }, say(why)) : null,
      ...(taken ? [h("p", { class: "step" }, say("calendar.then")), h("p", {}, say("calendar.old"))] : [h("p", { class: "step" }, say("calendar.what")), said(LIMITS.map((key) => say(key)))]),
      made ? h("p", {}, say("calendar.until", { day: dateWords(made.last, app.language()) })) : null,
      soundRow(app),
    ].filter(Boolean),
    acts: [
      taken ? button("go", say("go_on"), next) : button("alt", say("not_now"), next),
      taken ? null : made ? link(app, made, go) : button("go", say("calendar.go"), () => get(app)),
    ],
  };
}

/** Two taps, because a file may be saved only by a tap on it; the first one fetches it.
    @param {App} app */
async function get(app) {
  const { name } = app.shown;
  const made = await fetchCalendar().catch((error) => ({ why: error instanceof Refused ? "calendar.none" : "calendar.no_signal" }));
  if (app.shown.name === name) app.show(name, made.why ? { why: made.why } : { made });
}

function link(app, made, go) {
  const href = URL.createObjectURL(new Blob([made.file], { type: "text/calendar" }));
  const take = async () => {
    await keepCalendar(made);
    app.state = await load();
    go();
    app.meet({});
    setTimeout(() => URL.revokeObjectURL(href), 60_000);
  };
  return h("a", { class: "go", href, download: NAME, role: "button", onclick: take }, say("calendar.save"));
}

/** The sound while the app is open: on unless it was turned off.
    @param {App} app */
function soundRow(app) {
  if (app.state.push === "granted") return null;
  const on = app.state.ways.ring !== false;
  const turn = async () => {
    await setWays(app, { ring: !on });
    app.show(app.shown.name, app.shown.args, { quietly: true });
    app.meet({});
  };
  return rows([{ words: say("in_app.title"), far: say(on ? "yes" : "no"), act: turn }]);
}

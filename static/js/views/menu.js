/* The menu: plan, days, reminders, what waits, and leaving. */

import { ms } from "../core/clock.js";
import { quietUntil } from "../core/quiet.js";
import { listed, say } from "../core/words.js";
import { flush } from "../net/flush.js";
import { phoneZone, unpair } from "../net/plan.js";
import { sayZone } from "../store/log.js";
import { askAgain } from "../store/outbox.js";
import { load, waiting } from "../store/state.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { languageRow } from "./language.js";
import { courseForAll, outOfTouch, rows, whenWords } from "./parts.js";
import { wishesOf } from "./quiet.js";
import { reminding } from "./remind.js";
import { big, setWays } from "./ways.js";

/** @param {PlanApp} app */
export function menu(app) {
  const { state } = app;
  const many = state.plan.body.courses.length > 1;
  const left = waiting(state);
  const bad = state.outbox.length - left;
  const open = !state.ended && !state.plan.body.closed;
  const go = (name) => () => app.go(name);
  return {
    title: say("menu"), live: true,
    main: [
      heading(say("menu.title")), outOfTouch(app),
      rows([
        open && many && { words: say("choose.title"), act: () => { app.chosen = null; app.home(); } },
        open && { words: say("plan.title"), act: go("plan") },
        open && { words: say("days.title"), act: go("days") },
        open && { ...reminding(app), act: go("prompts") },
        open && { words: say("quiet.title"), far: quietWords(app), act: go("quiet") },
        open && { words: say("first.title"), act: go("setup") },
        open && zoneRow(app),
        open && languageRow(app),
        bigRow(app),
        open && { words: say("sent.title"), far: left ? say("sent.left", { n: left }) : say("sent.all"), act: () => app.meet({ stale: true }) },
        open && bad > 0 && { words: say("refused.title", { n: bad }), act: go("refused") },
        !state.ended && { words: say("unpair.title"), act: go("unpair") },
      ]),
      app.hasWorker ? null : h("p", { class: "quiet" }, say("no_worker")),
    ].filter(Boolean),
    acts: [button("alt", say("go_back"), app.home)],
    actsKind: "low",
  };
}

/** @param {PlanApp} app */
function quietWords(app) {
  const until = quietUntil(wishesOf(app));
  return until ? say("quiet.until", { time: whenWords(app, until) }) : null;
}

/** Larger buttons, one a row: by itself where both hands are hurt, by hand at any time.
    @param {App} app */
const bigRow = (app) => ({
  words: say("big.title"), far: say(big(app) ? "yes" : "no"),
  act: async () => { await setWays(app, { big: !big(app) }); app.show("menu", {}, { quietly: true }); },
});

/** @param {PlanApp} app */
function zoneRow(app) {
  const here = phoneZone();
  const kept = app.zone();
  if (here === kept || app.state.said.zone === here) return { words: say("zone.title"), far: kept };
  const use = async () => { await sayZone(app.state, courseForAll(app)); await app.entered(); app.show("menu"); };
  return { words: say("zone.use", { zone: here }), far: kept, act: use };
}

/** What the clinic refused: kept, with its reason.
    @param {PlanApp} app */
export function refused(app) {
  const bad = app.state.outbox.filter((entry) => entry.refused);
  const again = async () => { await askAgain(); app.meet({}); };
  return {
    title: say("refused.heading"), live: true,
    main: [heading(say("refused.heading")), h("p", {}, say("refused.kept")),
      rows(bad.map(({ item, refused: why }) => why && ({ words: named(app, item), far: say("refused.why", { reason: reasonOf(app, why) }) })))],
    acts: [button("alt", say("go_back"), app.home), bad.length ? button("go", say("try_again"), again) : null],
    actsKind: "low",
  };
}

const SAID = ["course_closed", "course_unknown", "not_stored"];

/** Why, in the phone's language; in English in the server's own words, which say more. */
function reasonOf(app, { code, message }) {
  if (app.language() === "en") return message || code;
  return say(SAID.includes(code) ? `refused.code.${code}` : "refused.code.other");
}

const named = (app, item) => listed(say(`type.${item.type}`), whenWords(app, ms(item.entered_at) + item.offset_ms));

/** Leave: what waits is sent first; without a signal nothing is lost and nothing is left.
    @param {App} app @param {any} given */
export function unpairing(app, { error = null } = {}) {
  const leave = async () => {
    speak(say("unpair.sending"));
    const { ok } = await flush();
    app.state = await load();
    if (!ok || waiting(app.state)) return app.show("unpair", { error: say("unpair.waits") });
    try {
      await unpair();
    } catch {
      return app.show("unpair", { error: say("unpair.waits") });
    }
    app.state = await load();
    app.chosen = null;
    return app.home();
  };
  return {
    title: say("unpair.title"),
    main: [heading(say("unpair.title")), error ? h("p", { class: "wrong", role: "alert" }, error) : null, h("p", {}, say("unpair.what")), h("p", {}, say("unpair.first")), button("alt", say("unpair.go"), leave)].filter(Boolean),
    acts: [button("go", say("go_back"), () => history.back())],   // alone in its place: nobody leaves by habit
    actsKind: "low",
  };
}

/* Pain 0 to 10, nothing preset, skipping allowed; then the bout is put on disk before the screen says saved. */

import { asksPain, opensList } from "../core/pain.js";
import { painRule } from "../core/rules.js";
import { say } from "../core/words.js";
import { keep } from "../store/state.js";
import { logBouts } from "../store/log.js";
import { button, h } from "./dom.js";
import { heading } from "./frame.js";
import { painScale } from "./parts.js";
import { carers } from "./ways.js";

/** @param {CourseApp} app @param {any} given */
export function pain(app, { goes, failed = false }) {
  const course = app.course();
  const asks = (go) => asksPain(course, go, go.done_at ? go.done_at + app.state.offset_ms : app.now(), app.rules());
  if (!goes.some(asks)) return failed ? notSaved(app, course, goes) : savingNow(app, course, goes);
  const give = (figure) => save(app, course, goes.map((go) => ({ ...go, pain: figure, pain_asked: true })), figure);
  const late = goes.some((go) => go.slot_start);
  return {
    title: say("pain.title"),
    main: [heading(say("pain.title")), h("p", { class: "quiet" }, say(late ? "pain.then" : "pain.worst"), carers(app) ? ` ${say("carer.ask")}` : null),
      painScale(give)],
    acts: [button("skip", say("pain.skip"), () => give(null))],
    actsKind: "low",
  };
}

/** @param {App} app @param {Course} course @param {Go[]} goes */
function savingNow(app, course, goes) {
  queueMicrotask(() => save(app, course, goes, null));
  return { title: say("saving"), main: [heading(say("saving"))] };
}

/** @param {App} app @param {Course} course @param {Go[]} goes */
const notSaved = (app, course, goes) => ({
  title: say("not_saved"), main: [], acts: [button("go", say("try_again"), () => save(app, course, goes, null))],
});

let busy = false;

/** @param {App} app @param {Course} course @param {Go[]} goes @param {number | null} figure */
async function save(app, course, goes, figure) {
  if (busy) return;   // a second tap while the first is on its way to the disk
  busy = true;
  try {
    const bouts = await logBouts(app.state, course, goes);
    app.draft = null;
    await app.entered();
    await after(app, course, bouts, figure);
  } catch {
    app.show("pain", { goes, failed: true });
    document.querySelector("main").append(h("p", { class: "wrong", role: "alert" }, say("not_saved")));
  } finally {
    busy = false;
  }
}

/** @param {App} app @param {Course} course @param {BoutItem[]} bouts @param {number | null} figure */
async function after(app, course, bouts, figure) {
  const args = { bouts };
  app.go("saved", args, { replace: true });
  if (!opensList(figure, painRule(course, app.rules()), app.state.opened?.[course.id], app.now())) return;
  await keep("opened", { ...app.state.opened, [course.id]: { at: app.now(), pain: figure } });
  app.go("wrong", { because: "pain" });
}

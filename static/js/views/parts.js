/* Parts that several screens show. */

import { clock, localDate, weekday, HOUR } from "../core/clock.js";
import { hourHead, ms } from "../core/clock.js";
import { ringAt, telHref } from "../core/ring.js";
import { SIGNS } from "../core/standing.js";
import { seenOf } from "../core/trouble.js";
import { hours, leading, tally, today } from "../core/day.js";
import { say } from "../core/words.js";
import { markRead, readMark } from "../store/log.js";
import { button, h, icon, sign } from "./dom.js";
import { carers } from "./ways.js";

/** The cautions, the top one large. `close`: in less room, beside the count; `ask`: the button that asks for reading.
    @param {App} app @param {Course} course @param {any} given */
export function cautions(app, course, { close = false, ask = null } = {}) {
  const { phase } = course;
  const [top, ...rest] = [...(phase?.cautions ?? []), ...(phase && carers(app) ? [say("carer.never"), say("carer.help")] : [])];
  if (!phase || !top) return null;
  return h("div", { class: close ? "care close" : "care", role: "note", "aria-label": say("cautions") }, icon("care"), h("p", {}, top),
    rest.length ? h("ul", {}, rest.map((line) => h("li", {}, line))) : null, ask);
}

/** A new version of the cautions asks once to be read; null where it was.
    @param {App} app @param {Course} course */
export function readButton(app, course) {
  const { phase } = course;
  if (!phase?.cautions?.length || app.state.reads[course.id] === readMark(phase)) return null;
  const read = async () => {
    await markRead(app.state, course, phase);
    await app.entered();
    app.show(app.shown.name, app.shown.args);
  };
  return button("alt", say("have_read"), read);
}

/** The number that fits this hour, and the emergency number. `now` true: in the colour of 'ring now'.
    @param {App} app @param {any} given */
export function numbers(app, { alarm = false, emergencyFirst = false, ring = app.state.plan?.body.ring } = {}) {
  const entry = ringAt(ring, app.now());
  const emergency = app.state.plan?.body.emergency;
  const usual = entry ? [tel("ring", entry, alarm && !emergencyFirst), entry.read_words ? h("p", { class: "quiet" }, entry.read_words) : null] : [];
  if (!emergency) return h("div", { class: "numbers" }, usual);
  if (emergencyFirst) return h("div", { class: "numbers" }, tel("ring", emergency, true), usual);
  return h("div", { class: "numbers" }, usual, h("a", { class: "em", href: telHref(emergency.tel) }, h("span", {}, say("cold_fingers")), h("b", {}, say("ring_tel", { tel: isolated(emergency.tel) }))));
}

/** A number keeps its order also between words that run from right to left (U+2066, U+2069). */
export const isolated = (text) => `\u2066${text}\u2069`;

const tel = (kind, entry, alarm) => h("a", { class: alarm ? `${kind} alarm` : kind, href: telHref(entry.tel) }, h("span", {}, entry.label), h("b", { dir: "ltr" }, entry.tel));

/** A day of one exercise: hour over sign. */
export function dayOf(app, cells, label) {
  const zone = app.zone();
  return h("ol", { class: "signs", "aria-label": label }, cells.map(({ slot, sign: name, open, begun, total }) => h("li", { class: open ? "now" : null },
    h("span", {}, hourHead(ms(slot.start), zone)), sign(name === "ahead" && total ? "part" : name, words(name, begun)))));   // not past yet, and something is logged: half filled
}

const words = (name, begun) => (begun && name === "ahead" ? say("standing.open") : say(`standing.${name}`));

/** The key of the signs that are there, with counts.
    @param {any[]} cells */
export function key(cells) {
  const counts = tally(cells);
  const shown = [...SIGNS.slice(0, -1), "open", "ahead"].filter((name) => counts[name]);
  return h("ul", { class: "key" }, shown.map((name) => h("li", {}, sign(name === "open" ? "ahead" : name), `${counts[name]} ${say(`standing.${name}`)}`)));
}

/** The course day so far of the exercise that leads, hour by hour.
    @param {App} app @param {Course} course */
export function daySoFar(app, course) {
  const exercise = leading(course);
  const day = today(course, app.now());
  if (!exercise || !day) return null;
  const cells = hours(course, exercise.key, day, app.log(), app.now());
  return cells.length ? [h("h2", { class: "quiet-head" }, say("today")), dayOf(app, cells, say("today")), key(cells)] : null;
}

/** "15:00", "Saturday, 8:00" where it is not today.
    @param {App} app @param {number} at */
export function whenWords(app, at) {
  const zone = app.zone();
  const time = clock(at, zone, app.language());
  return localDate(at, zone) === localDate(app.now(), zone) ? time : say("day_time", { day: weekday(at, zone, app.language()), time });
}

/** What concerns the patient, not one course, is sent with the first.
    @param {PlanApp} app */
export const courseForAll = (app) => app.course() ?? app.state.plan.body.courses[0];

/** "10 times", "5 minutes". */
export const dose = (amount, unit) => say(unit, { n: amount });

/** What so long without the clinic means, or null.
    @param {App} app */
export function outOfTouch(app) {
  const { contact, plan } = app.state;
  if (!plan || !contact || Date.now() - contact < app.rules().no_contact_hours * HOUR) return null;
  const day = weekday(plan.at + app.state.offset_ms, app.zone(), app.language());
  const signed = plan.body.texts?.["screen.no_contact_72h"]?.lines ?? [];   // the clinic's own words where it has signed some
  return h("p", { class: "wrong" }, signed.length ? signed.join(" ").replaceAll("{day}", day) : say("out_of_touch", { day }));
}

/** A list of rows that can be tapped: [{words, under: a line below them, far: at the other end, act}].
    @param {any[]} list */
export const rows = (list) => h("ul", { class: "rows" }, list.filter(Boolean).map(({ words: text, under, far, act }) => h("li", {},
  act ? button("", [h("span", {}, text, under ? h("small", {}, under) : null), far ? h("span", { class: "far" }, far) : null], act) : h("div", {}, h("span", {}, text), far ? h("span", { class: "quiet" }, far) : null))));

/** Lines of a signed text.
    @param {string[] | undefined} lines */
export const said = (lines) => h("ul", { class: "said" }, (lines ?? []).map((line) => h("li", {}, line)));

/** 0 to 10, nothing preset; `give` takes the figure. */
export function painScale(give) {
  const end = (n, words) => button("choice end", [h("b", {}, String(n)), say(words)], () => give(n));
  const middle = [1, 2, 3, 4, 5, 6, 7, 8, 9].map((n) => button("choice", String(n), () => give(n)));
  return h("div", { class: "pain" }, end(0, "pain.none"), middle, end(10, "pain.most"));
}

/** Who has seen a report of the course. It is not advice, and never says that all is well.
    @param {App} app @param {Course} course */
export function seenBy(app, course) {
  const [seen] = seenOf(course);
  if (!seen) return null;
  const ring = seen.ring_by ? say("seen.ring", { time: whenWords(app, ms(seen.ring_by)) }) : say("seen.ring_soon");
  return h("p", { class: "seen" }, h("b", {}, say("seen.by", { by: seen.by, time: whenWords(app, ms(seen.at)) })), ` ${say("seen.not_advice")} ${ring}`);
}

/** A button that is pressed or not, one of a group. */
export const choice = (text, pressed, act, more = {}) => button("choice", text, act, { "aria-pressed": pressed ? "true" : "false", ...more });

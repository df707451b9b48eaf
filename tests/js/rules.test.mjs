/* The phone's pure rules. */

import "./ground.mjs";
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { clock, dateWords, hourHead, ms, offsetOf } from "../../static/js/core/clock.js";
import { blocking, consequences, isTrouble, missing, openCheck } from "../../static/js/core/check.js";
import { due, fillable, leading, next, tally, today } from "../../static/js/core/day.js";
import { excess } from "../../static/js/core/excess.js";
import { asksPain, opensList, redFlag } from "../../static/js/core/pain.js";
import { paceAt, stepLengths } from "../../static/js/core/pace.js";
import { FALLBACK, painRule, rulesOf } from "../../static/js/core/rules.js";
import { quietUntil, weeks, wishes } from "../../static/js/core/quiet.js";
import { ringAt, telHref } from "../../static/js/core/ring.js";
import { asksAllWell, silent, wakingBetween } from "../../static/js/core/silence.js";
import { loggedIn, standing } from "../../static/js/core/standing.js";
import { shape, uuid7 } from "../../static/js/core/uuid7.js";
import { startWatch } from "../../static/js/views/watch.js";

const cases = (name) => JSON.parse(readFileSync(new URL(`../../shared/cases/${name}.json`, import.meta.url)));
const log = (bouts = [], seq = 0, rules = FALLBACK) => ({ bouts, seq, rules });
const bytesOf = (hex) => [...Array(8).fill(0), ...hex.match(/../g).map((pair) => parseInt(pair, 16))];

test("an id is laid out as UUIDv7", () => {
  for (const { ms: at, counter, tail, id } of cases("uuid7").cases) assert.equal(shape(at, counter, bytesOf(tail)), id);
});

test("ids made in one millisecond, or after the clock went back, keep their order", () => {
  const ids = [...Array(5000)].map((_, i) => uuid7(i < 4500 ? 1_800_000_000_000 : 1_700_000_000_000));
  assert.deepEqual([...ids].sort(), ids);
  assert.equal(new Set(ids).size, ids.length);
});

test("the sign of a slot follows the shared cases", () => {
  const { slot, cases: all } = cases("standing");
  for (const { told, credited, bouts, now, sign } of all) {
    const full = bouts.map((bout, i) => ({ id: String(i), exercise: "bend", offset_ms: 0, acked_seq: null, entered_at: bout.done_at, slot_start: null, done_at: null, ...bout }));
    assert.equal(standing({ ...slot, standing: told, credited }, log(full, 1), ms(now)).sign, sign, JSON.stringify({ told, bouts, now }));
  }
});

const SLOT = { exercise: "bend", start: "2026-11-27T14:00:00Z", end: "2026-11-27T15:00:00Z", day: "2026-11-27", amount: 10, unit: "times", standing: "ahead", credited: 0 };
const BOUT = { id: "a", exercise: "bend", amount: 4, done_at: "2026-11-27T14:05:00Z", entered_at: "2026-11-27T14:05:00Z", offset_ms: 0, acked_seq: null, supersedes: null };

test("a bout the plan has seen is not counted twice", () => {
  assert.equal(loggedIn({ ...SLOT, credited: 4 }, log([{ ...BOUT, acked_seq: 3 }], 5)), 4);
  assert.equal(loggedIn({ ...SLOT, credited: 0 }, log([{ ...BOUT, acked_seq: 6 }], 5)), 4);
});

test("a correction takes the place of what it replaces, seen by the plan or not", () => {
  const better = { ...BOUT, id: "b", amount: 9, supersedes: "a" };
  assert.equal(loggedIn(SLOT, log([BOUT, better], 5)), 9);
  assert.equal(loggedIn({ ...SLOT, credited: 4 }, log([{ ...BOUT, acked_seq: 3 }, better], 5)), 9);
});

test("the moment of a bout is the device's clock plus its offset", () => {
  const early = { ...BOUT, done_at: "2026-11-27T11:05:00Z", offset_ms: 3 * 3_600_000 };
  assert.equal(loggedIn(SLOT, log([early])), 4);
});

const at = (hour) => ({ ...SLOT, start: `2026-11-27T${hour}:00:00Z`, end: `2026-11-27T${hour + 1}:00:00Z` });
const COURSE = { exercises: [{ key: "rub" }, { key: "bend", leading: true }], slots: [12, 13, 14, 15].map(at) };

test("due is what is open and not logged, the leading exercise first", () => {
  const course = { ...COURSE, slots: [{ ...at(14), exercise: "rub" }, at(14), at(15)] };
  assert.deepEqual(due(course, log(), ms("2026-11-27T14:10:00Z")).map((slot) => slot.exercise), ["bend", "rub"]);
  assert.deepEqual(due(COURSE, log([{ ...BOUT, amount: 10 }]), ms("2026-11-27T14:10:00Z")), []);
  assert.deepEqual(due({ ...COURSE, slots: [{ ...at(14), standing: "excused" }] }, log(), ms("2026-11-27T14:10:00Z")), []);
});

test("a slot is half-open: at its end the next one is due", () => {
  assert.equal(due(COURSE, log(), ms("2026-11-27T15:00:00Z"))[0].start, "2026-11-27T15:00:00Z");
});

test("slots that start within 10 minutes of the first come together next", () => {
  const near = { ...at(15), exercise: "rub", start: "2026-11-27T15:09:00Z" };
  const far = { ...at(15), exercise: "rub", start: "2026-11-27T15:10:00Z" };
  assert.equal(next({ ...COURSE, slots: [at(15), near] }, ms("2026-11-27T14:10:00Z")).length, 2);
  assert.equal(next({ ...COURSE, slots: [at(15), far] }, ms("2026-11-27T14:10:00Z")).length, 1);
});

test("ended slots can be filled in, newest first, as long as the shared cases say", () => {
  assert.deepEqual(fillable(COURSE, log(), ms("2026-11-27T14:10:00Z")).map((slot) => slot.start.slice(11, 13)), ["13", "12"]);
  const { slot, cases: all } = cases("fill_in");
  for (const { at: time, fillable: can } of all) assert.equal(fillable({ slots: [{ ...SLOT, ...slot }] }, log(), ms(time)).length, can ? 1 : 0, time);
});

test("the day is that of the slot that began last", () => {
  const slots = [at(20), { ...at(8), day: "2026-11-28", start: "2026-11-28T08:00:00Z", end: "2026-11-28T09:00:00Z" }];
  assert.equal(today({ slots }, ms("2026-11-27T23:00:00Z")), "2026-11-27");
  assert.equal(today({ slots }, ms("2026-11-28T08:00:00Z")), "2026-11-28");
});

test("a rehearsal never leads", () => {
  const course = { exercises: [{ key: "rehearse", rehearsal: true }, { key: "rub" }], slots: [{ ...at(14), exercise: "rehearse" }, { ...at(14), exercise: "rub" }] };
  assert.equal(leading(course).key, "rub");
  assert.equal(leading({ ...course, exercises: course.exercises.slice(0, 1) }), null);
});

test("a tally counts the signs that are there", () => {
  assert.deepEqual(tally([{ sign: "logged" }, { sign: "logged" }, { sign: "part" }]), { logged: 2, part: 1 });
  const [begun, later] = [{ sign: "ahead", begun: true }, { sign: "ahead", begun: false }];
  assert.deepEqual(tally([begun, later, later]), { open: 1, ahead: 2 });
});

test("more than the dose is enough, more than one and a half times is rest", () => {
  assert.equal(excess(10, 10, FALLBACK), null);
  assert.equal(excess(11, 10, FALLBACK), "enough");
  assert.equal(excess(15, 10, FALLBACK), "enough");
  assert.equal(excess(16, 10, FALLBACK), "rest");
  assert.equal(excess(4, 10, FALLBACK, false), "enough");
});

test("the clinic's own figures take the place of the defaults, one by one", () => {
  assert.deepEqual(rulesOf({}), FALLBACK);
  assert.deepEqual(rulesOf({ rules: { done_share: 0.5, timely_minutes: null } }), { ...FALLBACK, done_share: 0.5 });
  const half = (amount) => standing(SLOT, log([{ ...BOUT, amount }], 0, rulesOf({ rules: { done_share: 0.5 } })), ms("2026-11-27T15:45:01Z")).sign;
  assert.deepEqual([half(4), half(5)], ["part", "logged"]);
  const short = log([], 0, rulesOf({ rules: { fill_in_hours: 1, timely_minutes: 15 } }));
  assert.deepEqual(fillable(COURSE, short, ms("2026-11-27T14:00:00Z")).map((slot) => slot.start.slice(11, 13)), ["13", "12"]);
  assert.equal(standing({ ...SLOT, standing: "not_logged" }, short, ms("2026-11-27T15:15:01Z")).sign, "not_logged");
  assert.equal(excess(13, 10, rulesOf({ rules: { enough_times_dose: 1.2 } })), "rest");
});

test("pain thresholds are the course's, else the clinic's", () => {
  assert.deepEqual(painRule({ pain: { yesterday: 3, red_flag_at: 8 } }, FALLBACK), { yesterday: 3, red_flag_at: 8, rise: 3, rise_floor: 5 });
  assert.equal(painRule({}, rulesOf({ rules: { pain_red_flag_at: 6 } })).red_flag_at, 6);
});

test("pain is asked in the slots that say so; in no slot by the clinic's rule; before confirmation never", () => {
  const course = { pain: { ask: true }, slots: [{ ...at(13), asks_pain: true }, { ...at(14), asks_pain: false }, at(15)] };
  const asks = (time, rules = FALLBACK) => asksPain(course, { exercise: "bend" }, ms(time), rules);
  assert.deepEqual([asks("2026-11-27T13:10:00Z"), asks("2026-11-27T14:00:00Z"), asks("2026-11-27T15:10:00Z")], [true, false, true]);
  assert.equal(asksPain(course, { exercise: "bend", slot_start: "2026-11-27T14:00:00Z" }, ms("2026-11-27T15:10:00Z"), FALLBACK), false);
  assert.deepEqual([asks("2026-11-27T20:00:00Z"), asks("2026-11-27T20:00:00Z", { ...FALLBACK, pain_each_bout: false })], [true, false]);
  assert.equal(asksPain({ ...course, exercises: [{ key: "bend", rehearsal: true }] }, { exercise: "bend" }, ms("2026-11-27T13:10:00Z"), FALLBACK), false);
  assert.equal(asksPain({ ...course, pain: { ask: false } }, { exercise: "bend" }, ms("2026-11-27T13:10:00Z"), FALLBACK), false);
});

test("pain opens the list by the shared cases", () => {
  for (const { pain, rule, opens } of cases("red_flag").cases) assert.equal(redFlag(pain, rule), opens, JSON.stringify({ pain, rule }));
});

test("the list opens once in six hours unless the pain is higher by two", () => {
  const rule = { red_flag_at: 7, yesterday: null, rise: 3, rise_floor: 5 };
  const last = { at: 0, pain: 7 };
  assert.equal(opensList(8, rule, last, 5 * 3_600_000), false);
  assert.equal(opensList(9, rule, last, 5 * 3_600_000), true);
  assert.equal(opensList(7, rule, last, 6 * 3_600_000), true);
});

test("the number fits the hour; intervals are half-open; a plan that has run out goes by the hour of its last week", () => {
  const ring = [{ from: "2026-11-27T08:00:00Z", to: "2026-11-27T17:00:00Z", tel: "1" }, { from: "2026-11-27T17:00:00Z", to: "2026-11-30T08:00:00Z", tel: "2" }];
  const tel = (time) => ringAt(ring, ms(time)).tel;
  assert.equal(tel("2026-11-27T16:59:59Z"), "1");
  assert.equal(tel("2026-11-27T17:00:00Z"), "2");
  const weeks = [...ring, { from: "2026-11-30T08:00:00Z", to: "2026-11-30T17:00:00Z", tel: "1" }, { from: "2026-11-30T17:00:00Z", to: "2026-12-11T08:00:00Z", tel: "2" }, { from: "2026-12-11T08:00:00Z", to: "2026-12-11T17:00:00Z", tel: "1" }];
  assert.deepEqual(["2026-12-18T16:00:00Z", "2026-12-18T17:00:00Z", "2027-01-01T12:00:00Z"].map((time) => ringAt(weeks, ms(time)).tel), ["1", "2", "1"]);
  assert.equal(tel("2026-11-01T00:00:00Z"), "1");
  assert.equal(ringAt([], 0), null);
  assert.equal(telHref("01632 960-140"), "tel:01632960140");
});

const CHECK = {
  day: "2026-11-27", from: "2026-11-27T07:00:00Z", until: "2026-11-28T07:00:00Z", answered: false,
  questions: [{ key: "splint", on_no: { ask: "off", trouble: "splint_gone" } }, { key: "lift", on_no: { trouble: "finger_no_longer_lifts" } }, { key: "swelling", on_no: { text: "swelling" } }, { key: "comfort", on_no: null }],
};

test("a daily check is open in its time, until it is answered here or there", () => {
  const course = { id: "c", checks: [CHECK] };
  assert.equal(openCheck(course, [], ms("2026-11-27T07:00:00Z")), CHECK);
  assert.equal(openCheck(course, [], ms("2026-11-28T07:00:00Z")), null);
  assert.equal(openCheck(course, ["c 2026-11-27"], ms("2026-11-27T09:00:00Z")), null);
  assert.equal(openCheck({ id: "c", checks: [{ ...CHECK, answered: true }] }, [], ms("2026-11-27T09:00:00Z")), null);
});

test("a no leads to its trouble or text; a splint off a while and back on is no stop", () => {
  const answers = { splint: "no", lift: "no", swelling: "no", comfort: "no" };
  assert.deepEqual(consequences(CHECK, answers, { off_now: false }), { troubles: ["finger_no_longer_lifts"], texts: ["swelling"], textsOf: ["splint_off_and_back"], offers: [], list: false });
  assert.deepEqual(consequences(CHECK, answers, { off_now: true }).troubles, ["splint_gone", "finger_no_longer_lifts"]);
  assert.deepEqual(consequences(CHECK, { splint: "yes", lift: "cannot_see" }, {}), { troubles: [], texts: [], textsOf: [], offers: [], list: false });
});

test("a splint off now, without a trouble named for it, opens the list", () => {
  const bare = { questions: [{ key: "splint", on_no: { ask: "off" } }] };
  assert.equal(consequences(bare, { splint: "no" }, { off_now: true }).list, true);
});

test("a wound that is not dry opens its text and offers what to report; what is reported already is not offered again", () => {
  const wound = { questions: [{ key: "wound_dry", on_no: { text: "trouble.wound" } }, { key: "lift", on_no: { trouble: "wound" } }] };
  assert.deepEqual(consequences(wound, { wound_dry: "no", lift: "yes" }, {}).offers, ["wound", "fever"]);
  assert.deepEqual(consequences(wound, { wound_dry: "no", lift: "no" }, {}).offers, ["fever"]);
  assert.deepEqual(consequences(wound, { wound_dry: "cannot_see" }, {}).offers, []);
});

test("sore under the splint leads to the text on skin", () => {
  assert.deepEqual(consequences(CHECK, { splint: "no" }, { off_now: false, off_why: "sore" }).textsOf, ["splint_off_and_back", "skin"]);
});

test("an answer that is trouble waits for no other answer; everything else is asked for first", () => {
  assert.equal(isTrouble(CHECK, { lift: "no" }), true);
  assert.deepEqual(blocking(CHECK, { lift: "no" }), []);
  assert.deepEqual(blocking(CHECK, { splint: "no" }, { off_now: true }), []);
  assert.equal(isTrouble(CHECK, { splint: "no", swelling: "no" }, { off_now: false }), false);
  assert.deepEqual(blocking(CHECK, { splint: "no", swelling: "no" }, { off_now: false }), ["lift", "comfort"]);
  assert.deepEqual(blocking(CHECK, {}), ["splint", "lift", "swelling", "comfort"]);
});

test("of a splint that was off, whether it is off now must be said", () => {
  const all = { splint: "no", lift: "yes", swelling: "yes", comfort: "yes" };
  assert.deepEqual(missing(CHECK, all, {}), ["splint"]);
  assert.deepEqual(missing(CHECK, all, { off_now: false }), []);
});

test("unanswered questions are named", () => {
  assert.deepEqual(missing(CHECK, { splint: "yes", comfort: "no" }), ["lift", "swelling"]);
});

test("times are said in the plan's zone on a clock of 24 hours", () => {
  assert.equal(clock(ms("2026-07-01T13:00:00Z"), "Europe/London"), "14:00");
  assert.equal(clock(ms("2026-11-27T00:05:00Z"), "Europe/London"), "00:05");
  assert.equal(hourHead(ms("2026-11-27T08:00:00Z"), "Europe/London"), "8");
  assert.equal(hourHead(ms("2026-11-27T08:20:00Z"), "Europe/London"), "08:20");
  assert.equal(dateWords("2026-11-27"), "Friday 27 November");
});

test("the offset is the server's time less the middle of the request", () => {
  assert.equal(offsetOf("2026-11-27T14:10:00.500Z", ms("2026-11-27T14:00:00.000Z"), ms("2026-11-27T14:00:01.000Z")), 600_000);
});

test("a paused watch stands still", () => {
  let at = 0;
  const watch = startWatch(() => at);
  at = 90_000;
  assert.equal(watch.minutes(), 1);
  watch.turn();
  at = 900_000;
  assert.equal(watch.minutes(), 1);
  watch.turn();
  at = 930_000;
  assert.equal(watch.minutes(), 2);
});

test("the calm count leads in, goes through the steps of each time, and ends at the dose", () => {
  const at = (seconds, more = {}) => paceAt(seconds * 1000, { lengths: [4, 4, 4], amount: 2, ...more });
  assert.deepEqual(at(0), { lead: 5, step: 0, second: 0, time: 1, done: 0 });
  assert.deepEqual(at(4.9), { lead: 1, step: 0, second: 0, time: 1, done: 0 });
  assert.deepEqual(at(5), { lead: 0, step: 0, second: 0, time: 1, done: 0 });
  assert.deepEqual(at(9), { lead: 0, step: 1, second: 0, time: 1, done: 0 });
  assert.deepEqual(at(16.9), { lead: 0, step: 2, second: 3, time: 1, done: 0 });
  assert.deepEqual(at(17), { lead: 0, step: 0, second: 0, time: 2, done: 1 });
  assert.deepEqual(at(29), { lead: 0, step: 2, second: 3, time: 2, done: 2 });
  assert.deepEqual(at(500), { lead: 0, step: 2, second: 3, time: 2, done: 2 });
});

test("a step lasts as long as it asks to be held, and long enough to be said", () => {
  assert.deepEqual(stepLengths(["Bend slowly to the stop.", "Hold it there for 10 seconds.", "Keep the splint on. Bend your big knuckles slowly to the stop now."], false), [4, 11, 6]);
  assert.deepEqual(stepLengths([], true), [7]);
  const at = (seconds) => paceAt(seconds * 1000, { lengths: [4, 11], amount: 2 });
  assert.deepEqual(at(5 + 14), { lead: 0, step: 1, second: 10, time: 1, done: 0 });
  assert.deepEqual(at(5 + 15), { lead: 0, step: 0, second: 0, time: 2, done: 1 });
});

test("a count begun again goes on from what is done", () => {
  assert.equal(paceAt(5_000, { lengths: [7, 7, 7], amount: 10, from: 4 }).time, 5);
  assert.equal(paceAt(26_000, { lengths: [7, 7, 7], amount: 10, from: 4 }).done, 5);
});

const DAYS = { id: "c", exercises: [{ key: "bend", leading: true }], slots: [...[8, 9, 10, 11, 12, 13, 14, 15, 16, 17].map((hour) => ({ ...at(hour), start: `2026-11-27T${String(hour).padStart(2, "0")}:00:00Z`, end: `2026-11-27T${String(hour + 1).padStart(2, "0")}:00:00Z` }))] };
const lastAt = (time, more = {}) => log([{ ...BOUT, course: "c", amount: 10, done_at: time, entered_at: time, ...more }]);

test("'All well?' comes at six waking hours since the last log", () => {
  const held = lastAt("2026-11-27T08:30:00Z");
  assert.equal(silent(DAYS, held, ms("2026-11-27T14:29:00Z")), false);
  assert.equal(silent(DAYS, held, ms("2026-11-27T14:30:00Z")), true);
});

test("nights count nothing towards it", () => {
  const morning = DAYS.slots.map((slot) => ({ ...slot, day: "2026-11-28", start: slot.start.replace("27T", "28T"), end: slot.end.replace("27T", "28T") }));
  const both = { ...DAYS, slots: [...DAYS.slots, ...morning] };
  assert.equal(wakingBetween(both.slots, ms("2026-11-27T16:00:00Z"), ms("2026-11-28T10:00:00Z")) / 3_600_000, 4);
  assert.equal(silent(both, lastAt("2026-11-27T16:30:00Z"), ms("2026-11-28T11:00:00Z")), false);
  assert.equal(silent(both, lastAt("2026-11-27T16:30:00Z"), ms("2026-11-28T12:30:00Z")), true);
});

test("a fresh log, a muted slot or no leading exercise keeps it away", () => {
  const time = ms("2026-11-27T15:10:00Z");
  assert.equal(silent(DAYS, lastAt("2026-11-27T08:30:00Z"), time), true);
  assert.equal(silent(DAYS, lastAt("2026-11-27T14:40:00Z", { amount: 1 }), time), false);
  const muted = { ...DAYS, slots: DAYS.slots.map((slot, i) => ({ ...slot, muted: i > 1 })) };
  assert.equal(silent(muted, lastAt("2026-11-27T08:30:00Z"), time), false);
  assert.equal(silent(DAYS, lastAt("2026-11-27T08:30:00Z"), time, (slot) => slot.start > "2026-11-27T09:30"), false);
  assert.equal(silent({ ...DAYS, exercises: [{ key: "bend" }] }, lastAt("2026-11-27T08:30:00Z"), time), false);
});

test("what was due before the phone was linked asks nobody", () => {
  const linked = ms("2026-11-27T15:05:00Z");
  const slots = [...DAYS.slots, ...DAYS.slots.map((slot) => ({ ...slot, start: slot.start.replace("27T", "28T"), end: slot.end.replace("27T", "28T") }))];
  const asks = (time, more) => silent({ ...DAYS, slots }, { ...log([]), ...more }, ms(time));
  assert.equal(asks("2026-11-27T15:10:00Z", {}), true);
  assert.equal(asks("2026-11-27T15:10:00Z", { linked }), false);
  assert.equal(asks("2026-11-28T11:00:00Z", { linked }), false);
  assert.equal(asks("2026-11-28T11:10:00Z", { linked }), true);
});

test("credit of another phone counts as a log", () => {
  const other = { ...DAYS, slots: DAYS.slots.map((slot, i) => (i === 5 ? { ...slot, credited: 10 } : slot)) };
  assert.equal(silent(other, lastAt("2026-11-27T08:30:00Z"), ms("2026-11-27T15:10:00Z")), false);
});

test("it is asked once a course day, and again only six waking hours after 'something is wrong'", () => {
  const held = lastAt("2026-11-27T08:00:00Z");
  const time = ms("2026-11-27T17:30:00Z");
  const asks = (asked) => asksAllWell(DAYS, asked, held, time);
  const asked = { day: "2026-11-27", at: ms("2026-11-27T14:00:00Z"), answer: null };
  assert.equal(asks(null), true);
  assert.equal(asks(asked), true);
  assert.equal(asks({ ...asked, answer: "busy" }), false);
  assert.equal(asks({ ...asked, day: "2026-11-26", answer: "busy" }), true);
  assert.equal(asks({ ...asked, answer: "something_wrong" }), false);
  assert.equal(asks({ ...asked, at: ms("2026-11-27T11:30:00Z"), answer: "something_wrong" }), true);
  assert.equal(asks({ ...asked, at: ms("2026-11-27T11:30:00Z"), answer: "busy" }), false);
});

const SOON = ms("2026-11-27T14:00:00Z");
const waits = (id, more) => ({ item: { id, type: "quiet", ...more } });

test("wishes for quiet are the plan's and those on their way, less what is over or being ended", () => {
  const told = [{ id: "a", kind: "until", until: "2026-11-27T15:00:00Z" }, { id: "b", kind: "until", until: "2026-11-27T13:00:00Z" }, { id: "c", kind: "fewer", fewer: "four_a_day" }];
  const ids = (entries) => wishes(told, entries, SOON).map((wish) => wish.id);
  assert.deepEqual(ids([]), ["a", "c"]);
  assert.deepEqual(ids([waits("d", { kind: "end", ends: "c" }), waits("e", { kind: "fewer", fewer: "every_second" })]), ["a", "e"]);
  assert.deepEqual(ids([waits("a", { kind: "until", until: "2026-11-27T15:00:00Z" })]), ["a", "c"]);
  assert.deepEqual(ids([{ ...waits("f", { kind: "fewer" }), refused: { code: "x" } }]), ["a", "c"]);
  assert.equal(quietUntil(wishes(told, [], SOON)), ms("2026-11-27T15:00:00Z"));
  assert.equal(quietUntil(wishes(undefined, [], SOON)), null);
});

test("weekly quiet times of the same hours stand together", () => {
  const at = (id, weekday, opens) => ({ id, kind: "weekly", weekday, opens, closes: "15:00" });
  assert.deepEqual(weeks([at("a", 4, "13:00"), at("b", 0, "13:00"), at("c", 1, "09:00")]), [
    { opens: "13:00", closes: "15:00", weekdays: [0, 4], ids: ["a", "b"] }, { opens: "09:00", closes: "15:00", weekdays: [1], ids: ["c"] },
  ]);
});

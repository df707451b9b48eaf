/* The first minutes, the way of reminding and typed codes: the rules, without a screen. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { inFours, isOwnCode, plainCode, secretOf } from "../../static/js/core/code.js";
import { after, firstSteps, stepsLeft } from "../../static/js/core/first.js";
import { home } from "../../static/js/core/gate.js";
import { begun, calendarNews, nearSleep, wayOf } from "../../static/js/core/way.js";

const FACTS = { carer: false, languages: 1, plan: true, installed: false, able: true, push: false, calendar: false };
const steps = (more, how = { handedOver: false, pushHere: true }) => stepsLeft({ left: firstSteps(how), on: true }, { ...FACTS, ...more });

test("pictures come first, then reminders, the home screen, and a calendar where reminders are not on", () => {
  assert.deepEqual(steps({}), ["pictures", "reminders", "install", "calendar"]);
  assert.deepEqual(steps({ push: true }), ["pictures", "install", "test"]);
});

test("where reminders need the home screen, the home screen comes first and they are not asked for before", () => {
  assert.deepEqual(steps({ able: false }, { handedOver: false, pushHere: false }), ["pictures", "install", "calendar"]);
});

test("a language is asked for only where there is a choice, and a carer is told who logs", () => {
  assert.deepEqual(steps({ carer: true, languages: 2 }).slice(0, 3), ["carer", "language", "pictures"]);
});

test("the app that took a tab's place asks only for what the tab could not have", () => {
  assert.deepEqual(steps({ installed: true }, { handedOver: true }), ["reminders", "calendar"]);
});

test("a step that is done or skipped does not come again, nor those before it", () => {
  const first = { left: firstSteps({ handedOver: false, pushHere: true }), on: true, page: 3 };
  const next = after(first, "pictures");
  assert.deepEqual([stepsLeft(next, FACTS)[0], next.page], ["reminders", 0]);
});

test("a step that this version does not know is passed over", () => {
  assert.deepEqual(stepsLeft({ left: ["hologram", "pictures"], on: true }, FACTS), ["pictures"]);
});

test("the first minutes never come before a stop, the hand, or a plan", () => {
  const course = { id: "c", state: "confirmed", hand_question: null, stop: null, troubles: [], slots: [] };
  const state = (more) => ({ device: {}, plan: { seq: 1, body: { courses: [{ ...course, ...more }] } }, reports: [], hands: {}, releases: {} });
  const at = { now: 0, online: false, putOff: new Set(), allWell: () => false, first: () => true };
  assert.equal(home(state({}), at), "first");
  assert.equal(home(state({ hand_question: { id: "q" } }), at), "hand");
  assert.equal(home(state({ stop: { kind: "snap", since: "2026-06-05T10:00:00Z" } }), at), "stop");
  assert.equal(home(state({ state: "unconfirmed" }), at), "before");
  assert.equal(home(state({}), { ...at, first: undefined }), "now");
});

test("the best way in force is told: push, then a calendar that still rings, then the open app", () => {
  const calendar = { mark: "a", last: "2026-06-19" };
  assert.equal(wayOf({ push: "granted", calendar }, "2026-06-10"), "push");
  assert.equal(wayOf({ push: "denied", calendar }, "2026-06-19"), "calendar");
  assert.equal(wayOf({ push: "denied", calendar }, "2026-06-20"), "in_app");
  assert.equal(wayOf({ push: null, calendar: null, ways: { ring: false } }, "2026-06-10"), "none");
});

test("a calendar whose times have changed, or that ends soon, is to be taken again; with push it is left alone", () => {
  const state = { push: "denied", calendar: { mark: "a", last: "2026-06-19" }, calendar_now: "a" };
  assert.equal(calendarNews(state, "2026-06-10", "2026-06-12"), null);
  assert.equal(calendarNews({ ...state, calendar_now: "b" }, "2026-06-10", "2026-06-12"), "changed");
  assert.equal(calendarNews(state, "2026-06-17", "2026-06-19"), "ends");
  assert.equal(calendarNews({ ...state, push: "granted", calendar_now: "b" }, "2026-06-10", "2026-06-12"), null);
});

const ms = (at) => at;
const slot = (start, more = {}) => ({ start, end: start + 3_600_000, day: "d", standing: "ahead", ...more });

test("a slot rings once, when it begins; not when muted, logged or not asked for", () => {
  const slots = [slot(100), slot(200, { muted: true }), slot(200, { standing: "logged" }), slot(200, { standing: "excused" }), slot(200)];
  assert.deepEqual(begun(slots, 100, 200, ms), [slots[4]]);
  assert.deepEqual(begun(slots, 200, 300, ms), []);
});

test("there is no sound in the first half hour of the day nor in the last", () => {
  const hour = 3_600_000;
  const slots = [slot(7 * hour), slot(8 * hour), slot(21 * hour), slot(21.75 * hour, { end: 22 * hour })];
  assert.deepEqual(slots.map((each) => nearSleep(slots, each, ms)), [true, false, false, true]);
});

test("a typed code is read as it looks, and the phone's own has twelve letters", () => {
  assert.equal(plainCode("abcd-efgh oil1"), "ABCDEFGH0111");
  assert.deepEqual(["", "abc", "abcd", "abcde", " abcd efgh-jkmn "].map(inFours), ["", "ABC", "ABCD", "ABCD-E", "ABCD-EFGH-JKMN"]);
  assert.equal(isOwnCode("abcd-efgh-jkmn"), true);
  assert.equal(isOwnCode("ABCD-EFGH"), false);
});

test("only a link of this very address holds a secret", () => {
  const here = "https://clinic.example";
  assert.equal(secretOf("https://clinic.example/phone/#pair=s%2Ft", here), "s/t");
  for (const other of ["https://elsewhere.example/phone/#pair=s", "https://clinic.example/staff/#pair=s", "https://clinic.example/phone/", "not a link"]) assert.equal(secretOf(other, here), null);
});

/* Stops, the outbox and the home screen: what must hold without a network. */

import "./ground.mjs";
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { allowed, home, homeOf } from "../../static/js/core/gate.js";
import { FALLBACK } from "../../static/js/core/rules.js";
import * as make from "../../static/js/core/items.js";
import { MOST, backOff, batch, settle, unstored } from "../../static/js/core/queue.js";
import { lifted } from "../../static/js/core/lifted.js";
import { canTakeBack, holding, resting, serverStop, stopOf } from "../../static/js/core/stop.js";
import { offered, troubleOf } from "../../static/js/core/trouble.js";

const TYPES = readFileSync(new URL("types/phone.d.ts", import.meta.url), "utf8");

const takeBack = JSON.parse(readFileSync(new URL("../../shared/cases/take_back.json", import.meta.url))).cases;
const REPORT = { id: "t1", course: "c", kind: "snap", at: "2026-11-27T14:00:00.000Z", offset_ms: 0, stops: true, question: null, acked_seq: null, taken_back: false };
const FREE = { id: "c", state: "confirmed", stop: null, hand_question: null, exercises: [{ key: "bend" }] };
const HELD = { ...FREE, stop: { since: "2026-11-27T14:00:00Z", kind: "snap", lines: [] } };

test("a stop not acknowledged stays, whatever the plan says", () => {
  assert.equal(lifted(REPORT, FREE, 99), false);
});

test("a plan asked for before the acknowledgement does not lift a stop", () => {
  assert.equal(lifted({ ...REPORT, acked_seq: 5 }, FREE, 4), false);
});

test("a plan that knew the report lifts it only where the server holds no stop", () => {
  assert.equal(lifted({ ...REPORT, acked_seq: 5 }, HELD, 6), false);
  assert.equal(lifted({ ...REPORT, acked_seq: 5 }, FREE, 6), true);
});

test("a course that left the plan lifts nothing", () => {
  assert.equal(lifted({ ...REPORT, acked_seq: 5 }, undefined, 6), false);
});

test("'not my hand' stays while the same question stands", () => {
  const no = { ...REPORT, kind: "not_my_hand", question: "q1", acked_seq: 5 };
  assert.equal(lifted(no, { ...FREE, hand_question: { id: "q1" } }, 6), false);
  assert.equal(lifted(no, { ...FREE, hand_question: { id: "q2" } }, 6), true);
});

test("a report that stops nothing is let go once the plan has seen it", () => {
  assert.equal(lifted({ ...REPORT, stops: false, acked_seq: 5 }, HELD, 6), true);
  assert.deepEqual(holding([{ ...REPORT, stops: false }], "c"), []);
});

test("told something different: the exercises of that course rest until the plan knows, or it is taken back", () => {
  const told = { kind: "told_different", course: "c", taken_back: false };
  assert.equal(resting([told], "c"), true);
  assert.equal(resting([told], "d"), false);
  assert.equal(resting([{ ...told, taken_back: true }], "c"), false);
  assert.equal(resting([{ ...told, kind: "bump" }], "c"), false);
});

test("a stop of one course does not stop another", () => {
  assert.deepEqual(holding([REPORT], "d"), []);
});

test("a report taken back stops no longer, and the server's stop of it is passed over until it knows", () => {
  const back = { ...REPORT, kind: "numb", taken_back: true, back_acked_seq: null };
  const held = { ...HELD, stop: { ...HELD.stop, kind: "numb" } };
  assert.equal(stopOf(held, [back], 7), null);
  assert.equal(serverStop(held, [{ ...back, back_acked_seq: 6 }], 7).kind, "numb");
  assert.equal(stopOf(HELD, [back], 7).kind, "snap");
});

test("an older stop of the server is not passed over for a report taken back later", () => {
  const back = { ...REPORT, at: "2026-11-27T15:00:00.000Z", taken_back: true, back_acked_seq: null };
  assert.equal(serverStop(HELD, [back], 7).kind, "snap");
});

test("'Pressed by mistake' is offered as the shared cases say", () => {
  const at = Date.parse(REPORT.at);
  for (const each of takeBack) assert.equal(canTakeBack(REPORT, each, at + 1000 * each.after_s, FALLBACK), each.can, each.kind);
  assert.equal(canTakeBack(REPORT, { mistake_allowed: true }, at + 120_000, FALLBACK), true);
  assert.equal(canTakeBack(REPORT, { mistake_allowed: true }, at + 120_001, FALLBACK), false);
  assert.equal(canTakeBack(REPORT, { mistake_allowed: false }, at, FALLBACK), false);
  assert.equal(canTakeBack({ ...REPORT, taken_back: true }, { mistake_allowed: true }, at, FALLBACK), false);
});

const state = (more = {}) => ({ device: { id: "d" }, ended: null, reports: [], hands: {}, plan: { seq: 1, body: { courses: [FREE], closed: null } }, ...more });
const AT = { now: 0, online: true, putOff: new Set(), allWell: () => false };
const withCourses = (...courses) => state({ plan: { seq: 1, body: { courses, closed: null } } });

test("home is what the phone must show first", () => {
  assert.equal(home(state({ device: null, plan: null }), AT), "pair");
  assert.equal(home(state({ plan: null }), AT), "waiting");
  assert.equal(home(state(), AT), "now");
  assert.equal(home(withCourses({ ...FREE, state: "unconfirmed" }), AT), "before");
  assert.equal(home(withCourses(HELD), AT), "stop");
  assert.equal(home(state({ reports: [REPORT] }), AT), "stop");
  assert.equal(home(state({ reports: [{ ...REPORT, kind: "told_different", stops: false }] }), AT), "rests");
  assert.equal(home(state({ ended: "device_revoked" }), AT), "revoked");
  assert.equal(home(state({ plan: { seq: 1, body: { courses: [], closed: { words: "" } } } }), AT), "closed");
});

/** The names of a type of tests/js/types: the type check takes it that these screens have what they ask for. */
const granted = (type) => [...new RegExp(`^type ${type} = (.*);$`, "m").exec(TYPES)[1].matchAll(/"(\w+)"/g)].map((found) => found[1]);

test("the phone's Back leads to no screen whose plan, course or question is gone", () => {
  const both = withCourses({ ...FREE, id: "a" }, { ...FREE, id: "b" });
  for (const name of ["menu", "plan", "quiet", ...granted("OfCourse")]) assert.equal(allowed(name, state({ plan: null }), AT, null), "waiting");
  for (const name of granted("OfCourse")) assert.equal(allowed(name, both, AT, null), "choose");
  for (const name of ["menu", "days", "said", "numbers"]) assert.equal(allowed(name, both, AT, null), name);
  assert.equal(allowed("saved", both, AT, both.plan.body.courses[1]), "saved");
  assert.equal(allowed("release", state(), AT, FREE), "now");
  assert.equal(allowed("release", state(), AT, ASKED), "release");
  assert.equal(allowed("menu", state({ plan: null, ended: "device_revoked" }), AT, null), "revoked");
  assert.equal(allowed("menu", state({ ended: "device_revoked" }), AT, FREE), "menu");
  assert.equal(allowed("count", withCourses(HELD), AT, HELD), "stop");
  assert.equal(allowed("extra", state(), AT, FREE), "extra");
  const none = { ...FREE, exercises: [] };
  assert.equal(allowed("extra", withCourses(none), AT, none), "now");
});

test("whom to ring, and linking, are reached on every phone; leaving, where the course is closed", () => {
  const closed = state({ plan: { seq: 1, body: { courses: [], closed: {} } } });
  for (const bare of [state({ plan: null }), state({ plan: null, ended: "device_revoked" }), closed]) {
    for (const name of ["numbers", "pair", "scan"]) assert.equal(allowed(name, bare, AT, null), name);
  }
  for (const name of ["menu", "unpair", "refused"]) assert.equal(allowed(name, closed, AT, null), name);
  assert.equal(allowed("plan", closed, AT, null), "closed");
});

test("the hand is asked for once, and a no stops at once", () => {
  const asked = { ...FREE, hand_question: { id: "q1" } };
  assert.equal(home(withCourses(asked), AT), "hand");
  assert.equal(homeOf(asked, { ...state(), hands: { c: { question: "q1", answer: "yes" } } }, AT), "now");
  assert.equal(homeOf({ ...asked, hand_question: { id: "q2" } }, { ...state(), hands: { c: { question: "q1" } } }, AT), "hand");
  const no = { ...REPORT, kind: "not_my_hand", question: "q1" };
  assert.equal(homeOf(asked, { ...state(), reports: [no], hands: { c: { question: "q1", answer: "no" } } }, AT), "stop");
});

test("what is reported while the hand is still to be answered is answered first: its text is not kept behind the question", () => {
  const asked = { ...FREE, hand_question: { id: "q1" } };
  const mine = { ...state(), reports: [{ ...REPORT, kind: "white_blue_cold" }] };
  assert.equal(homeOf(asked, mine, AT), "stop");
  assert.equal(homeOf({ ...asked, ...HELD, hand_question: { id: "q1" } }, state(), AT), "hand");
  assert.equal(homeOf(asked, { ...state(), reports: [{ ...REPORT, kind: "told_different", stops: false }] }, AT), "hand");
});

const ASKED = { ...FREE, release_question: { id: "r1", phase: "Band", from: "2026-11-27T07:00:00Z" } };
const MORNING = { ...AT, now: Date.parse("2026-11-27T08:00:00Z") };
const answered = (acked_seq, seq) => ({ ...state({ releases: { c: { release: "r1", answer: "nothing", item: "i", acked_seq } } }), plan: { seq, body: { courses: [ASKED], closed: null } } });

test("'Anything wrong since your visit?' is asked from its instant on, and only with the clinic at hand", () => {
  assert.equal(homeOf(ASKED, state(), MORNING), "release");
  assert.equal(homeOf(ASKED, state(), { ...MORNING, online: false }), "now");
  assert.equal(homeOf(ASKED, state(), AT), "now");
  assert.equal(homeOf(ASKED, state(), { ...MORNING, putOff: new Set(["r1"]) }), "now");
  assert.equal(homeOf({ ...ASKED, stop: HELD.stop }, state(), MORNING), "stop");
});

test("it is not asked while its answer is on its way, and again where a later plan still asks", () => {
  assert.equal(homeOf(ASKED, answered(null, 9), MORNING), "now");
  assert.equal(homeOf(ASKED, answered(9, 8), MORNING), "now");
  assert.equal(homeOf(ASKED, answered(8, 9), MORNING), "release");
});

test("'All well?' comes after what is more urgent, and can be left for later", () => {
  const silent = { ...AT, allWell: () => true };
  assert.equal(homeOf(FREE, state(), silent), "well");
  assert.equal(homeOf(HELD, state(), silent), "stop");
  assert.equal(homeOf(FREE, state(), { ...silent, putOff: new Set(["well c"]) }), "now");
});

test("'nothing is wrong' never overtakes a daily check, which may speak against it", () => {
  assert.deepEqual(batch([entry("1", "daily_check"), entry("2", "release_answer")]).map((item) => item.id), ["1", "2"]);
});

test("'All well?' tells first that it was asked, then what was answered", () => {
  const asking = make.allWell("c", null, null, null, CONTEXT, 0);
  assert.deepEqual([asking.type, asking.asked, asking.answer], ["all_well", asking.id, null]);
  const said = make.allWell("c", asking.id, "sore", 4, CONTEXT, 0);
  assert.deepEqual([said.asked === asking.id, said.id === asking.id, said.answer, said.pain], [true, false, "sore", 4]);
});

test("the trouble list is the course's own, else the plan's", () => {
  const plan = { troubles: [{ kind: "wound", label: "a" }, { kind: "snap", label: "s" }] };
  const course = { troubles: [{ kind: "wound", label: "b" }] };
  assert.equal(troubleOf(plan, course, "wound").label, "b");
  assert.equal(troubleOf(plan, course, "snap").label, "s");
  assert.equal(troubleOf(plan, {}, "wound").label, "a");
  assert.deepEqual(offered(plan, course, ["fever", "wound"]).map((trouble) => trouble.label), ["b"]);
});

test("with two courses the hand is chosen first", () => {
  const two = withCourses(FREE, { ...HELD, id: "e" });
  assert.equal(home(two, AT), "choose");
  assert.equal(home(two, AT, "c"), "now");
  assert.equal(home(two, AT, "e"), "stop");
});

const entry = (id, type = "bout", refused = undefined) => ({ item: { id, type }, refused });

test("trouble goes first and alone, in the order it was entered", () => {
  const entries = [entry("1"), entry("3", "trouble"), entry("2", "trouble"), entry("4", "taken_back")];
  assert.deepEqual(batch(entries).map((item) => item.id), ["2", "3", "4"]);
});

test("a batch is at most 100 and leaves refused items out", () => {
  const many = Array.from({ length: 150 }, (_, i) => entry(String(i).padStart(3, "0")));
  assert.equal(batch(many).length, MOST);
  assert.deepEqual(batch([entry("1", "bout", { code: "x" }), entry("2")]).map((item) => item.id), ["2"]);
});

test("only stored and already delete; what the answer does not name stays", () => {
  const results = [{ id: "1", result: "stored" }, { id: "2", result: "already" }, { id: "3", result: "refused", code: "c", message: "m" }, { id: "9", result: "stored" }];
  assert.deepEqual(settle([{ id: "1" }, { id: "2" }, { id: "3" }, { id: "4" }], results), { gone: ["1", "2"], refused: [{ id: "3", code: "c", message: "m" }] });
});

test("waits between tries grow to five minutes", () => {
  assert.deepEqual([0, 1, 2, 20].map(backOff), [0, 5_000, 10_000, 300_000]);
});

const CONTEXT = { offset_ms: 500, zone: "Europe/London", plan_version: "v1", logged_by: "patient" };
const THEN = Date.parse("2026-11-27T14:05:00.000Z");

test("a bout says when it was done; a fill-in keeps the slot and no minute", () => {
  const done = make.bout("c", { exercise: "bend", amount: 10, unit: "times", how: "counted", pain: null, pain_asked: true, done_at: THEN - 60_000 }, CONTEXT, THEN);
  assert.equal(done.done_at, "2026-11-27T14:04:00.000Z");
  assert.equal(done.entered_at, "2026-11-27T14:05:00.000Z");
  assert.equal(done.pain, null);
  assert.equal(done.slot_start, null);
  const late = make.bout("c", { exercise: "bend", amount: 10, unit: "times", how: "later", slot_start: "2026-11-27T11:00:00Z" }, CONTEXT, THEN);
  assert.equal(late.done_at, null);
  assert.equal(late.slot_start, "2026-11-27T11:00:00Z");
  assert.equal(late.pain_asked, false);
});

test("pain 0 is an answer, not a skip", () => {
  assert.equal(make.bout("c", { pain: 0, pain_asked: true }, CONTEXT, THEN).pain, 0);
});

test("items carry the clock's offset and the zone they were entered in", () => {
  const item = make.trouble("c", "snap", {}, CONTEXT, THEN);
  assert.deepEqual([item.type, item.course, item.offset_ms, item.zone], ["trouble", "c", 500, "Europe/London"]);
});

test("a carer's phone logs as the carer", () => {
  const kept = { offset_ms: 1, plan: { body: { version: "v2" } }, device: { whose: "carer" } };
  assert.deepEqual(make.contextOf(kept, "UTC"), { offset_ms: 1, zone: "UTC", plan_version: "v2", logged_by: "carer" });
});

test("a report the server could not store is sent again; what it found wrong waits to be asked for", () => {
  const trouble = { id: "1", type: "trouble" };
  const kept = (item, code) => ({ item, refused: { code, message: "" } });
  assert.deepEqual(unstored([kept(trouble, "not_stored"), { item: { id: "2", type: "trouble" } }]), [trouble]);
  assert.deepEqual(unstored([kept(trouble, "course_closed"), kept({ id: "3", type: "bout" }, "not_stored")]), []);
});

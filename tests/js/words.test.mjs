/* The phone's phrases: short, plain, and all there. */

import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { test } from "node:test";
import { say, setPhrases } from "../../static/js/core/words.js";

const at = (path) => new URL(`../../${path}`, import.meta.url);
const phrases = JSON.parse(readFileSync(at("shared/phrases/en.json")));
const texts = Object.values(phrases).flatMap((value) => (typeof value === "string" ? [value] : Object.values(value)));

test("a sentence has at most 12 words", () => {
  const long = texts.flatMap((text) => text.split(/[.?!;:]/)).filter((sentence) => sentence.trim().split(/\s+/).length > 12);
  assert.deepEqual(long, []);
});

test("no word is Latin, a blame or a cheer", () => {
  const banned = /\b(flexion|extension|orthosis|MCP|PIP|DIP|IP|regime|phase|repetitions?|tendon|you missed|missed|failed|well done|great|good job|congratulations|streak|all is well)\b/i;
  assert.deepEqual(texts.filter((text) => banned.test(text)), []);
});

test("every phrase the screens ask for by name is there", () => {
  const views = readdirSync(at("static/js/views/")).map((name) => readFileSync(at(`static/js/views/${name}`), "utf8")).join("\n");
  const asked = [...views.matchAll(/say\("([^"]+)"/g)].map((match) => match[1]);
  assert.ok(asked.length > 60);
  assert.deepEqual(asked.filter((key) => !(key in phrases)), []);
});

test("families of phrases are whole", () => {
  const families = {
    standing: ["logged", "part", "later", "not_logged", "unknown", "excused", "ahead", "open"],
    "pair.error": ["both", "pairing_unknown", "pairing_used", "pairing_expired", "already_paired_other_patient", "too_many", "no_signal", "other"],
    "reminders.state": ["granted", "denied", "default", "unsupported", "failed"],
    "reminders.short": ["push", "calendar", "denied", "default", "unsupported"],
    "reminders.tap": ["on", "see"],
    type: ["bout", "daily_check", "trouble", "taken_back", "hand_answer", "release_answer", "all_well", "quiet", "read", "zone_said"],
    quiet: ["all", "every_second", "four_a_day", "opens", "closes"],
    "refused.code": ["course_closed", "course_unknown", "not_stored", "other"],
    choose: ["stop", "hand", "before", "closed"],
    off: ["off_hours", "off_why", "off_now", "under_1", "1_to_2", "over_2", "sore", "wash", "other"],
    wrong: ["because_pain", "because_splint", "because_sore", "because_visit", "saw.finger_no_longer_lifts", "saw.band_no_longer_lifts"],
    well: ["busy", "sore", "phone", "something_wrong", "said.busy", "said.phone"],
  };
  const keys = Object.entries(families).flatMap(([family, names]) => names.map((name) => `${family}.${name}`));
  assert.deepEqual(keys.filter((key) => !(key in phrases)), []);
});

test("holes are filled and the plural form follows the number", () => {
  setPhrases(phrases);
  assert.equal(say("times", { n: 1 }), "1 time");
  assert.equal(say("times", { n: 10 }), "10 times");
  assert.equal(say("rest_now", { time: "14:00" }), "Rest now. Next time at 14:00.");
});

const { forms, cases: counted, where_a_form_is_missing: without, holes: filled } = JSON.parse(readFileSync(at("shared/cases/plural.json")));

test("a number takes the form of its language as on the server", () => {
  for (const { language, n, says } of counted) {
    setPhrases({}, { counted: forms }, language);
    assert.equal(say("counted", { n }), says, `${language} ${n}`);
  }
});

test("a form that is missing is said by the general one as on the server", () => {
  setPhrases({}, { counted: without.forms }, without.language);
  assert.equal(say("counted", { n: without.n }), without.says);
});

test("holes are filled as on the server", () => {
  for (const { phrase, holes, says } of filled) {
    setPhrases({ phrase });
    assert.equal(say("phrase", holes), says);
  }
});

test("a key that the clinic has not signed off in the language is said in English, by English rules", () => {
  setPhrases({ times: { one: "{n} time", other: "{n} times" }, done: "Done" }, { done: "تم" }, "ar");
  assert.deepEqual([say("done"), say("times", { n: 2 }), say("nobody_has")], ["تم", "2 times", "nobody_has"]);
});

test("the seven standings are said in the words of the tick sheet", () => {
  const words = ["logged", "part", "later", "not_logged", "unknown", "excused", "ahead"].map((name) => phrases[`standing.${name}`]);
  assert.deepEqual(words, ["logged", "some logged", "entered later", "not logged", "not known yet", "not asked for", "to come"]);
});

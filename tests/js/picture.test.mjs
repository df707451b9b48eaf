/* Pictures that come with the plan: what is taken in, and which goes with what. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { heldQuery, withHeld } from "../../static/js/core/drawings.js";
import { harmless, keyOfExercise, keyOfTrouble, picturesOf } from "../../static/js/core/picture.js";

/** An element as the browser's parser gives it: [name, attributes, children]. */
const element = ([localName, attributes = {}, children = []]) => ({
  localName, attributes: Object.entries(attributes).map(([name, value]) => ({ name, value })), children: children.map(element),
});

const of = (...parts) => harmless(element(["svg", { viewBox: "0 0 320 200", class: "fig" }, parts]));

test("a drawing of lines, words and movement is taken in", () => {
  const moves = ["animateTransform", { attributeName: "transform", type: "rotate", from: "0 10 10", to: "30 10 10", dur: "4s" }];
  assert.equal(of(["title"], ["desc"], ["g", { transform: "scale(-1 1)" }, [["path", { d: "M0 0L9 9", "marker-end": "url(#tip)" }, [moves]]]], ["text", { x: "1" }]), true);
});

for (const [what, part] of [
  ["a script", ["script", {}, []]],
  ["a script deep inside", ["g", {}, [["g", {}, [["script"]]]]]],
  ["foreign markup", ["foreignObject", {}, [["body"]]]],
  ["a listener", ["path", { onclick: "steal()" }]],
  ["a listener in capitals", ["path", { ONLOAD: "steal()" }]],
  ["a link", ["a", { href: "https://elsewhere.example" }]],
  ["a reference", ["path", { href: "#a" }]],
  ["an old reference", ["path", { "xlink:href": "data:text/html,x" }]],
  ["a picture fetched from elsewhere", ["image", { href: "https://elsewhere.example/x.png" }]],
  ["another drawing", ["use", {}]],
  ["a style of its own", ["style"]],
  ["an inline style", ["path", { style: "fill: url(https://elsewhere.example)" }]],
  ["a fill fetched from elsewhere", ["path", { fill: "url(https://elsewhere.example/#a)" }]],
  ["a fill fetched from elsewhere, in quotes", ["path", { fill: "url('//elsewhere.example/#a')" }]],
  ["an animation of where a link leads", ["set", { attributeName: "href", to: "javascript:steal()" }]],
  ["an address that runs", ["animate", { to: "javascript:steal()" }]],
]) test(`a drawing with ${what} is refused whole`, () => assert.equal(of(["path", { d: "M0 0" }], part), false));

test("what is no drawing is refused", () => assert.equal(harmless(element(["parsererror"])), false));

const COURSE = { figures: [
  { key: "position.index", purpose: "position", exercise: null }, { key: "exercise.bend", purpose: "exercise", exercise: "bend" },
  { key: "exercise.hook", purpose: "exercise", exercise: "hook" }, { key: "pillow", purpose: "pillow", exercise: null }, { key: "open_splint", purpose: "open_splint", exercise: null },
] };

test("an exercise has its own picture", () => {
  assert.equal(keyOfExercise(COURSE, "hook"), "exercise.hook");
  assert.equal(keyOfExercise(COURSE, "scar_massage"), null);
});

test("a splint that is gone shows the arm on a pillow, a pale hand the splint opened; where straps are only loosened nothing shows it open", () => {
  assert.deepEqual(["splint_gone", "white_blue_cold"].map((kind) => keyOfTrouble(COURSE, kind)), ["pillow", "open_splint"]);
  for (const kind of ["swelling", "numb", "snap", "severe_pain", "wound", "toString"]) assert.equal(keyOfTrouble(COURSE, kind), null);
});

test("a plan without pictures shows none", () => {
  assert.deepEqual(picturesOf({}, "position"), []);
  assert.equal(keyOfExercise(undefined, "bend"), null);
  assert.equal(keyOfTrouble({ figures: [] }, "splint_gone"), null);
});

const planOf = (...figures) => ({ body: { courses: [{ id: "c", figures }, { id: "old plan" }] }, seq: 1, at: 0, changed: 0 });

test("drawings that the phone has are not asked for again, and stand in the new plan", () => {
  const kept = planOf({ key: "position", hash: "a1", svg: "<svg/>" }, { key: "lost", hash: "b2", svg: null });
  assert.equal(heldQuery(kept), "?held=a1");
  const { courses } = withHeld(planOf({ key: "position", hash: "a1", svg: null }, { key: "new", hash: "c3", svg: "<svg>c</svg>" }, { key: "gone", hash: "b2", svg: null }).body, kept);
  assert.deepEqual(courses[0].figures.map((each) => each.svg), ["<svg/>", "<svg>c</svg>", null]);
  assert.deepEqual(courses[1], { id: "old plan" });
});

test("a phone without a plan asks for every drawing", () => {
  assert.equal(heldQuery(null), "");
  assert.deepEqual(withHeld(planOf({ key: "position", hash: "a1", svg: "<svg/>" }).body, null), planOf({ key: "position", hash: "a1", svg: "<svg/>" }).body);
});

/* The worker's part of a reminder: something is always shown, still where it must be, and a tap leads on. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { openApp } from "../../static/js/sw/click.js";
import { show } from "../../static/js/sw/push.js";

/** What a registration was asked to show, and which earlier notes were closed. */
function registration() {
  const seen = { shown: [], closed: 0 };
  return { seen, getNotifications: async () => [{ close: () => { seen.closed += 1; } }], showNotification: async (title, options) => seen.shown.push({ title, ...options }) };
}

const pushed = (payload) => ({ data: { json: () => payload } });

test("a reminder is shown with its words, and takes the place of the one before", async () => {
  const here = registration();
  await show(pushed({ title: "Homeprog", body: "Time for your plan.", send: "s", url: "/phone/", silent: false }), here);
  assert.deepEqual([here.seen.shown[0].body, here.seen.shown[0].silent, here.seen.closed], ["Time for your plan.", false, 1]);
});

test("a reminder that must make no sound makes none, and keeps its words", async () => {
  const here = registration();
  await show(pushed({ body: "Do these reminders suit you?", url: "/phone/#reminders", silent: true }), here);
  assert.deepEqual([here.seen.shown[0].body, here.seen.shown[0].silent, here.seen.shown[0].data.url], ["Do these reminders suit you?", true, "/phone/#reminders"]);
});

test("what cannot be read is shown as a plain reminder", async () => {
  const here = registration();
  await show({ data: { json: () => { throw new Error("no JSON"); } } }, here);
  assert.equal(here.seen.shown[0].body, "Open your plan.");
});

test("a tap brings the open app forward and says where to, or opens it there", async () => {
  const told = [];
  const app = { url: "https://clinic.example/phone/", postMessage: (message) => told.push(message), focus: () => "focused" };
  assert.equal(await openApp({ matchAll: async () => [app] }, "/phone/#reminders"), "focused");
  assert.deepEqual(told, [{ kind: "tapped", url: "/phone/#reminders" }]);
  const opened = [];
  await openApp({ matchAll: async () => [], openWindow: async (url) => opened.push(url) }, "/phone/#reminders");
  assert.deepEqual(opened, ["/phone/#reminders"]);
});

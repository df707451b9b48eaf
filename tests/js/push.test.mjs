/* The worker's part of a reminder: something is always shown, still where it must be, and a tap leads on. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { openApp, report, show } from "../../static/js/sw/push.js";

/** What a registration was asked to show, and which earlier notes were closed. */
function registration() {
  const seen = { shown: [], closed: 0 };
  return { seen, getNotifications: async () => [{ close: () => { seen.closed += 1; } }], showNotification: async (title, options) => seen.shown.push({ title, ...options }) };
}

const pushed = (notification) => ({ data: { json: () => ({ web_push: 8030, notification, mutable: true, pad: "000" }) } });
const due = (more = {}) => ({ title: "Homeprog", body: "Time for your plan.", navigate: "https://clinic.example/phone/", tag: "due", silent: false, data: { send: "s", kind: "reminder" }, ...more });

test("a reminder is shown with its words, and takes the place of the one before", async () => {
  const here = registration();
  assert.equal(await show(pushed(due()), here), "s");
  assert.deepEqual([here.seen.shown[0].body, here.seen.shown[0].silent, here.seen.closed], ["Time for your plan.", false, 1]);
});

test("a reminder that must make no sound makes none, and keeps its words", async () => {
  const here = registration();
  await show(pushed(due({ body: "Do these reminders suit you?", navigate: "/phone/#reminders", silent: true })), here);
  assert.deepEqual([here.seen.shown[0].body, here.seen.shown[0].silent, here.seen.shown[0].data.url], ["Do these reminders suit you?", true, "/phone/#reminders"]);
});

test("a test reminder is no reminder: it closes none that is due", async () => {
  const here = registration();
  await show(pushed(due({ tag: "test", body: "This is a test." })), here);
  assert.deepEqual([here.seen.shown[0].tag, here.seen.closed], ["test", 0]);
});

test("a browser that reads the push itself hands over the same notification", async () => {
  const here = registration();
  const send = await show({ data: null, notification: due() }, here);
  assert.deepEqual([send, here.seen.shown[0].title, here.seen.shown[0].body, here.seen.shown[0].data.url], ["s", "Homeprog", "Time for your plan.", "https://clinic.example/phone/"]);
});

test("what cannot be read, or says nothing, is shown as a plain reminder", async () => {
  for (const data of [{ json: () => { throw new Error("no JSON"); } }, { json: () => ({}) }, null]) {
    const here = registration();
    assert.equal(await show({ data }, here), null);
    assert.equal(here.seen.shown[0].body, "Open your plan.");
  }
});

test("what waits on the phone is sent before the receipt, and the receipt also where that fails", async () => {
  for (const sends of [async () => {}, async () => { throw new Error("no network"); }]) {
    const order = [];
    const net = { flush: () => { order.push("flush"); return sends(); }, receipt: async (send, what) => order.push(`${what} ${send}`), meet: async () => order.push("meet") };
    await report("s", "shown", net);
    assert.deepEqual(order, ["flush", "shown s", "meet"]);
  }
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

/* A push always shows something, then says so to the server; a tap on it leads to the app. */

import { flush, meet } from "../net/flush.js";
import { call } from "../net/api.js";
import { load, waiting } from "../store/state.js";

/** @type {Note} */
const PLAIN = { title: "Homeprog", body: "Open your plan.", navigate: "/phone/", tag: "due", silent: false, data: {} };
const DUE = "due";

/** Show the notification; older reminders are closed first, because a tag replaces them on some systems only. A test closes none.
    @param {Pushed} event @param {Shower} registration */
export async function show(event, registration) {
  const note = noteOf(event);
  const { send = null, expires_at = null } = note.data;
  const still = note.tag === DUE && await mustBeStill(expires_at);
  if (note.tag === DUE) for (const old of await registration.getNotifications()) old.close();
  await registration.showNotification(note.title, {
    body: still ? PLAIN.body : note.body, tag: note.tag, silent: still || note.silent === true,
    icon: "/static/icons/mark-192.png", badge: "/static/icons/mark-192.png", data: { send, url: note.navigate },
  });
  return send;
}

/** What is to be shown: the browser's own reading of a declarative push, else ours of the same JSON.
    @param {Pushed} event @returns {Note} */
function noteOf(event) {
  const told = event.notification ?? json(event)?.notification;
  if (!told) return PLAIN;   // unreadable, and yet something must be shown, or the system takes the right away
  const given = Object.keys(PLAIN).filter((key) => (told[key] ?? "") !== "");
  return { ...PLAIN, ...Object.fromEntries(given.map((key) => [key, told[key]])) };
}

/** @param {Pushed} event */
function json(event) {
  try {
    return event.data?.json();
  } catch {
    return null;
  }
}

/** Whether to show it without a sound and without asking: it is old, or this phone has a stop.
    @param {string | null} expires */
async function mustBeStill(expires) {
  try {
    const { reports, offset_ms } = await load();
    const old = expires && Date.parse(expires) < Date.now() + offset_ms;
    return Boolean(old) || reports.some((report) => (report.stops || report.kind === "told_different") && !report.taken_back);
  } catch {
    return false;
  }
}

const NET = { flush, receipt, meet };

/** Send what waits, then tell the server what became of a notification, then get the plan.
    @param {string | null} send @param {"shown" | "tapped"} what */
export async function report(send, what, net = NET) {
  await net.flush().catch(() => {});   // first: a receipt with an empty outbox is proof of contact
  if (send) await net.receipt(send, what).catch(() => {});
  await net.meet("worker", { stale: true });
}

/** @param {string} send @param {string} what */
async function receipt(send, what) {
  const state = await load();
  const at = new Date(Date.now() + state.offset_ms).toISOString();
  await call("POST", "/phone/receipts", { send, what, at, outbox_left: waiting(state) });
}

/** Bring the open app forward or open it.
    @param {Opener} clients @param {string} url */
export async function openApp(clients, url) {
  const open = await clients.matchAll({ type: "window", includeUncontrolled: true });
  const app = open.find((client) => new URL(client.url).pathname === "/phone/");
  if (!app) return clients.openWindow(url);
  app.postMessage({ kind: "tapped", url });
  return app.focus();
}

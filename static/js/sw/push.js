/* A push always shows something, then says so to the server. */

import { meet } from "../net/flush.js";
import { call } from "../net/api.js";
import { load, waiting } from "../store/state.js";

const PLAIN = { title: "Homeprog", body: "Open your plan.", url: "/phone/", send: null, expires_at: null, silent: false };

/** Show the reminder; older ones are closed first, because a tag replaces them on some systems only. */
export async function show(event, registration) {
  const note = payload(event);
  const still = await mustBeStill(note);
  for (const old of await registration.getNotifications()) old.close();
  await registration.showNotification(note.title, {
    body: still ? PLAIN.body : note.body, tag: "due", silent: still || note.silent === true,
    icon: "/static/icons/mark-192.png", badge: "/static/icons/mark-192.png", data: { send: note.send, url: note.url },
  });
}

function payload(event) {
  try {
    return { ...PLAIN, ...event.data.json() };
  } catch {
    return PLAIN;   // unreadable, and yet something must be shown, or the system takes the right away
  }
}

/** Whether to show it without a sound and without asking: it is old, or this phone has a stop. */
async function mustBeStill(note) {
  try {
    const { reports, offset_ms } = await load();
    const old = note.expires_at && Date.parse(note.expires_at) < Date.now() + offset_ms;
    return Boolean(old) || reports.some((report) => report.stops && !report.taken_back);
  } catch {
    return false;
  }
}

/** Tell the server what became of a reminder, then send what waits and get the plan. */
export async function report(send, what) {
  if (send) await receipt(send, what).catch(() => {});
  await meet("worker", { stale: true });
}

async function receipt(send, what) {
  const state = await load();
  const at = new Date(Date.now() + state.offset_ms).toISOString();
  await call("POST", "/phone/receipts", { send, what, at, outbox_left: waiting(state) });
}

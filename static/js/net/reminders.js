/* Reminders: the subscription, a test of it, and the calendar file. subscribe() can hang for ever, so it is given 10 s. */

import { keep, load } from "../store/state.js";
import { call, expect } from "./api.js";

const PATIENCE_MS = 10_000;

/** What this phone can do: "granted", "denied", "default" or "unsupported". */
export function permission() {
  const able = "Notification" in globalThis && "serviceWorker" in navigator && "PushManager" in globalThis;
  return able ? Notification.permission : "unsupported";
}

/** Ask, subscribe and tell the server; only after a tap. Resolves with the state, which is kept. */
export async function turnOn() {
  const state = await outcome().catch(() => "failed");
  await keep("push", state);
  return state;
}

async function outcome() {
  if (permission() === "unsupported") return "unsupported";
  const answer = await Notification.requestPermission();
  if (answer !== "granted") return answer;
  const key = (await load()).plan?.body.push?.key;
  if (!key) return "failed";
  const subscription = await patient(subscribe(key));
  const { endpoint, keys } = subscription.toJSON();
  await call("POST", "/phone/subscriptions", { endpoint, keys });
  return "granted";
}

/** @param {string} key */
async function subscribe(key) {
  const registration = await navigator.serviceWorker.ready;
  const old = await registration.pushManager.getSubscription();
  return old ?? registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: bytes(key) });
}

/** @template T @param {Promise<T>} promise @returns {Promise<T>} */
function patient(promise) {
  /** @type {Promise<never>} */
  const late = new Promise((_, reject) => setTimeout(() => reject(new Error("subscribe() took too long")), PATIENCE_MS));
  return Promise.race([promise, late]);
}

/** The bytes of a base64url text.
    @param {string} text */
function bytes(text) {
  const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(plain, (char) => char.charCodeAt(0));
}

/** Have a test reminder sent: {send, state}. */
export async function sendTest() {
  return expect(await call("POST", "/phone/test-reminders"), ({ send }) => Boolean(send));
}

/** How far it has come: {state: "waiting", "sent", "arrived" or "not_sent"}.
    @param {string} send */
export async function lookAtTest(send) {
  return expect(await call("GET", `/phone/test-reminders?send=${send}`), ({ state }) => Boolean(state));
}

/** A calendar file: {file, last, mark}. */
export async function fetchCalendar() {
  return expect(await call("GET", "/phone/calendar"), ({ file, mark }) => Boolean(file && mark));
}

/** That it was taken, and until when it rings.
    @param {{last: string, mark: string}} file */
export async function keepCalendar({ last, mark }) {
  await keep("calendar", { last, mark });
  await keep("calendar_now", mark);
}

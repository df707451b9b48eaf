/* Reminders: the permission and the subscription. subscribe() can hang for ever, so it is given 10 s. */

import { keep, load } from "../store/state.js";
import { call } from "./api.js";

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

async function subscribe(key) {
  const registration = await navigator.serviceWorker.ready;
  const old = await registration.pushManager.getSubscription();
  return old ?? registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: bytes(key) });
}

function patient(promise) {
  const late = new Promise((_, reject) => setTimeout(() => reject(new Error("subscribe() took too long")), PATIENCE_MS));
  return Promise.race([promise, late]);
}

/** The bytes of a base64url text. */
export function bytes(text) {
  const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(plain, (char) => char.charCodeAt(0));
}

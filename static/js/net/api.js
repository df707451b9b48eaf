/* Calls to the server: JSON in and out, a time limit, and the clock's offset from every answer. */

import { offsetOf } from "../core/clock.js";
import { load, keep } from "../store/state.js";

const ROOT = "/api/v1";
const LIMIT_MS = 20_000;
const SLOW_MS = 5_000;   // an answer slower than this says too little about the clock

export class Refused extends Error {
  constructor(status, error) {
    super(error?.message ?? `HTTP ${status}`);
    Object.assign(this, { status, code: error?.code ?? "unknown", fields: error?.fields ?? {} });
  }
}

/** Send one request; resolves with the JSON (null for 204), throws Refused or, without a network, TypeError. */
export async function call(method, path, body) {
  const { device } = await load();
  const sent = Date.now();
  const response = await fetch(ROOT + path, {
    method, cache: "no-store", credentials: "same-origin", redirect: "error",
    headers: headers(device, body), body: body === undefined ? undefined : JSON.stringify(body),
    signal: AbortSignal.timeout(LIMIT_MS),
  });
  const received = Date.now();
  const answer = response.status === 204 ? null : await response.json().catch(() => null);
  if (answer?.server_time && received - sent < SLOW_MS) await keep("offset_ms", offsetOf(answer.server_time, sent, received));
  if (!response.ok) throw new Refused(response.status, answer?.error);
  return answer;
}

function headers(device, body) {
  const set = { Accept: "application/json" };
  if (body !== undefined) set["Content-Type"] = "application/json";
  if (device?.csrf) set["X-CSRF-Token"] = device.csrf;
  return set;
}

/** Note that the server no longer knows this phone. */
export async function noteEnd(error) {
  if (error.status === 401) await keep("ended", error.code === "device_revoked" ? "device_revoked" : "not_paired");
}

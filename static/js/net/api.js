/* Calls to the server: JSON in and out, a time limit, and the clock's offset from every answer. */

import { offsetOf } from "../core/clock.js";
import { transact } from "../store/db.js";
import { load, keep } from "../store/state.js";

const ROOT = "/api/v1";
const LIMIT_MS = 20_000;
const SLOW_MS = 5_000;   // an answer slower than this says too little about the clock
const TOO_LARGE = 413;   // said by whatever stands before the server, in words of its own
const ENDS = ["device_revoked", "device_replaced", "not_paired"];

/** The clinic's server said no. `device` is the phone's id when it asked. */
export class Refused extends Error {
  /** @param {number} status @param {{message?: string, code?: string} | undefined} error @param {string | null} device */
  constructor(status, error, device = null) {
    super(error?.message ?? `HTTP ${status}`);
    this.status = status;
    this.code = error?.code ?? "unknown";
    this.device = device;
  }
}

/** Something answered, and it was not the clinic's server: a login page of a network, a proxy, a page of repairs. As no network. */
class Stranger extends Error {}

/** Send one request; resolves with the JSON (null for 204). Throws Refused, Stranger or, without a network, TypeError.
    @param {string} method @param {string} path @param {unknown} body @returns {Promise<any>} */
export async function call(method, path, body = undefined) {
  const { device } = await load();
  const sent = Date.now();
  const response = await fetch(ROOT + path, {
    method, cache: "no-store", credentials: "same-origin", redirect: "error",
    headers: headers(device, body), body: body === undefined ? undefined : JSON.stringify(body),
    signal: AbortSignal.timeout(LIMIT_MS),
  });
  const received = Date.now();
  const answer = response.status === 204 ? null : await json(response);
  if (answer?.server_time && received - sent < SLOW_MS) await keep("offset_ms", offsetOf(answer.server_time, sent, received));
  if (response.ok && (answer || response.status === 204)) return answer;
  if (answer?.error?.code || response.status === TOO_LARGE) throw new Refused(response.status, answer?.error, device?.id ?? null);
  throw new Stranger(`HTTP ${response.status}`);
}

/** The JSON object that was answered, or null.
    @param {Response} response */
async function json(response) {
  const told = await response.json().catch(() => null);
  return told !== null && typeof told === "object" && !Array.isArray(told) ? told : null;
}

/** @param {Device | null} device @param {unknown} body */
function headers(device, body) {
  /** @type {Record<string, string>} */
  const set = { Accept: "application/json" };
  if (body !== undefined) set["Content-Type"] = "application/json";
  if (device?.csrf) set["X-CSRF-Token"] = device.csrf;
  return set;
}

/** Note that the server no longer knows this phone, unless it has been linked anew since it asked.
    @param {unknown} error */
export async function noteEnd(error) {
  if (!(error instanceof Refused) || error.status !== 401 || !ENDS.includes(error.code)) return;
  await transact("readwrite", ({ kept }) => {
    const request = kept.get("device");
    request.onsuccess = () => { if ((request.result?.id ?? null) === error.device) kept.put(error.code, "ended"); };
  });
}

/** What an answer must have, or a stranger gave it. @template T @param {T} answer @param {(answer: T) => boolean} test */
export function expect(answer, test) {
  if (!answer || !test(answer)) throw new Stranger("not an answer of the clinic");
  return answer;
}

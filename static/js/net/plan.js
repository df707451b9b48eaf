/* Fetch the plan, say where we are, and pair or unpair. */

import { localDate } from "../core/clock.js";
import { firstSteps } from "../core/first.js";
import { heldQuery, withHeld } from "../core/picture.js";
import { lifted } from "../core/stop.js";
import { wayOf } from "../core/way.js";
import { change } from "../store/db.js";
import { forget, keep, keepPlan, link, load, tick, waiting } from "../store/state.js";
import { alone } from "./alone.js";
import { call, expect, noteEnd } from "./api.js";
import { permission } from "./permission.js";
import { haveWords } from "./words.js";

export const phoneZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone;

/** Get the plan and keep it. */
export async function fetchPlan() {
  const seq = await tick();   // taken before asking: only what was acknowledged earlier can be in the answer
  const { plan: kept } = await load();
  const told = await call("GET", `/phone/plan${heldQuery(kept)}`).catch(ended);
  const body = withHeld(/** @type {PlanBody} */ (expect(told, ({ version, courses }) => Boolean(version) && Array.isArray(courses))), kept);
  await keepDevice(body, (await load()).device);
  const { reports, plan: before } = await load();
  const changed = before?.body.version === body.version ? (before.changed ?? 0) : Date.now();
  const gone = reports.filter((stop) => lifted(stop, body.courses.find((course) => course.id === stop.course), seq));
  await haveWords(body).catch(() => null);   // a plan is worth having in English
  await keepPlan({ body, seq, at: Date.now(), changed }, gone, Date.now());
  await keep("contact", Date.now());
}

/** A new word for writing calls; where the clinic knows this phone as another, by its cookie, it is linked as that.
    @param {PlanBody} body @param {Device | null} known */
async function keepDevice({ csrf, device }, known) {
  if (known && (!device || known.id === device.id)) return change("device", (kept) => kept && { ...kept, csrf: csrf ?? kept.csrf });
  return device && link({ id: device.id, csrf, whose: device.whose }, device.courses);
}

/** @param {unknown} error */
async function ended(error) {
  await noteEnd(error);
  throw error;
}

/** Tell the server what waits here; resolves with the plan version it holds.
    @param {'page' | 'worker'} via */
export async function touch(via) {
  const state = await load();
  const answer = await call("POST", "/phone/contacts", {
    outbox_left: waiting(state), plan_version: state.plan?.body.version ?? null, push: state.push ?? "default", zone: phoneZone(), via,
    reminding: wayOf(state, localDate(Date.now() + state.offset_ms, state.plan?.body.zone ?? phoneZone())),
  }).catch(ended);
  expect(answer, ({ plan_version }) => plan_version !== undefined);
  if (answer.calendar) await keep("calendar_now", answer.calendar);
  await keep("contact", Date.now());
  return answer.plan_version;
}

/** Exchange a link's secret, a typed code and number, or the code of this phone's browser page, for a place of this phone. Whose it is a browser page knows better.
    @param {Json} proof @param {Whose} whose @param {string} deviceName */
export function claim(proof, whose, deviceName) {
  const handedOver = !proof.secret && !proof.number;
  return alone(async () => {
    const told = await call("POST", "/pairings/claims", { ...proof, device_name: deviceName, whose });
    const { device, csrf, courses, whose: theirs } = expect(told, (answer) => Boolean(answer.device && answer.csrf) && Array.isArray(answer.courses));
    await link({ id: device, csrf, whose: theirs ?? whose }, courses);
    await keep("first", { left: firstSteps({ handedOver, pushHere: permission() !== "unsupported" }), on: handedOver });
  });
}

/** A code for the app on this phone's home screen: {code, minutes}. */
export async function handOver() {
  return expect(await call("POST", "/phone/hand-overs"), ({ code }) => Boolean(code));
}

/** Leave this patient; only after the outbox was sent. */
export function unpair() {
  return alone(async () => {
    await call("DELETE", "/phone/device");
    await forget();
  });
}

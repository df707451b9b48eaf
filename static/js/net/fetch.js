/* Fetch the plan and its words, and say where we are: what the worker does as well as a page. */

import { localDate } from "../core/clock.js";
import { heldQuery, withHeld } from "../core/drawings.js";
import { lifted } from "../core/lifted.js";
import { wayOf } from "../core/reminding.js";
import { change } from "../store/db.js";
import { keep, keepPlan, link, load, tick, waiting } from "../store/state.js";
import { alone } from "../store/word.js";
import { call, expect, noteEnd } from "./api.js";

export const phoneZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone;

/** Get the plan and keep it. */
export async function fetchPlan() {
  const seq = await tick();   // taken before asking: only what was acknowledged earlier can be in the answer
  const { plan: kept } = await load();
  const told = await call("GET", `/phone/plan${heldQuery(kept)}`).catch(ended);
  const body = withHeld(expect(told, ({ version, courses }) => Boolean(version) && Array.isArray(courses)), kept);
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

/** Have the words that a plan speaks, fetched once for each version that the clinic signed off; without them a phone speaks English.
    @param {PlanBody} plan */
async function haveWords({ words, language }) {
  const { words: here } = await load();
  if (!words) return here && keep("words", null);
  if (here?.version === words && here.language === language) return null;
  return keep("words", await call("GET", "/phone/words"));
}

/** A phone whose storage the system has cleared is still known to the clinic by its cookie: ask whose it is, and begin again
    with the plan. Not linked, or without a network, nothing changes. */
export function recover() {
  return alone(async () => {
    if (!(await load()).device) await fetchPlan().catch(() => {});
  });
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

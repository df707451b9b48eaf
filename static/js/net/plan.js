/* Fetch the plan, say where we are, and pair or unpair. */

import { lifted } from "../core/stop.js";
import { change } from "../store/db.js";
import { forget, keep, keepPlan, link, load, tick, waiting } from "../store/state.js";
import { alone } from "./alone.js";
import { call, expect, noteEnd } from "./api.js";
import { haveWords } from "./words.js";

export const phoneZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone;

/** Get the plan and keep it. */
export async function fetchPlan() {
  const seq = await tick();   // taken before asking: only what was acknowledged earlier can be in the answer
  const told = await call("GET", "/phone/plan").catch(ended);
  const body = /** @type {PlanBody} */ (expect(told, ({ version, courses }) => Boolean(version) && Array.isArray(courses)));
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

async function ended(error) {
  await noteEnd(error);
  throw error;
}

/** Tell the server what waits here; resolves with the plan version it holds. */
export async function touch(via) {
  const state = await load();
  const answer = await call("POST", "/phone/contacts", {
    outbox_left: waiting(state), plan_version: state.plan?.body.version ?? null, push: state.push ?? "default", zone: phoneZone(), via,
  }).catch(ended);
  expect(answer, ({ plan_version }) => plan_version !== undefined);
  await keep("contact", Date.now());
  return answer.plan_version;
}

/** Exchange a pairing secret, or a typed code and number, for a place of this phone. */
export function claim(proof, whose, deviceName) {
  return alone(async () => {
    const told = await call("POST", "/pairings/claims", { ...proof, device_name: deviceName, whose });
    const { device, csrf, courses } = expect(told, (answer) => Boolean(answer.device && answer.csrf) && Array.isArray(answer.courses));
    await link({ id: device, csrf, whose }, courses);
  });
}

/** Leave this patient; only after the outbox was sent. */
export function unpair() {
  return alone(async () => {
    await call("DELETE", "/phone/device");
    await forget();
  });
}

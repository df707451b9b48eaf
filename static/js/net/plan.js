/* Fetch the plan, say where we are, and pair or unpair. */

import { lifted } from "../core/stop.js";
import { change, transact } from "../store/db.js";
import { forget, keep, keepPlan, load, tick, waiting } from "../store/state.js";
import { call, noteEnd } from "./api.js";

export const phoneZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone;

/** Get the plan and keep it. */
export async function fetchPlan() {
  const seq = await tick();   // taken before asking: only what was acknowledged earlier can be in the answer
  const body = await call("GET", "/phone/plan").catch(ended);
  const { reports, plan: before } = await load();
  const changed = before?.body.version === body.version ? (before.changed ?? 0) : Date.now();
  const gone = reports.filter((stop) => lifted(stop, (body.courses ?? []).find((course) => course.id === stop.course), seq));
  await keepPlan({ body, seq, at: Date.now(), changed }, gone, Date.now());
  if (body.csrf) await change("device", (device) => device && { ...device, csrf: body.csrf });
  await keep("contact", Date.now());
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
  await keep("contact", Date.now());
  return answer.plan_version;
}

/** Exchange a pairing secret, or a typed code and number, for a place of this phone. */
export async function claim(proof, whose, deviceName) {
  const answer = await call("POST", "/pairings/claims", { ...proof, device_name: deviceName, whose });
  await transact("readwrite", (stores) => {
    stores.kept.put({ id: answer.device, csrf: answer.csrf, whose }, "device");
    stores.kept.delete("ended");
  });
}

/** Leave this patient; only after the outbox was sent. */
export async function unpair() {
  await call("DELETE", "/phone/device");
  await forget();
}

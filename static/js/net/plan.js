/* This phone's link with the clinic, made and ended by a page; the plan itself is fetched by the worker too. */

import { firstSteps } from "../core/first.js";
import { forget, keep, link } from "../store/state.js";
import { alone } from "../store/word.js";
import { call, expect } from "./api.js";
import { permission } from "./reminders.js";

export { fetchPlan, phoneZone } from "./fetch.js";

/** Exchange a link's secret, a typed code and number, or the code of this phone's browser page, for a place of this phone. Whose it is a browser page knows better.
    @param {{secret?: string, code?: string, number?: string}} proof @param {Whose} whose @param {string} deviceName */
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

/* A phone whose storage the system has cleared: the clinic still knows it by its cookie. */

import { load } from "../store/state.js";
import { alone } from "./alone.js";
import { fetchPlan } from "./plan.js";

/** Ask whose phone this is, and begin again with the plan; not linked, or without a network, nothing changes. */
export async function recover() {
  await alone(async () => {
    if (!(await load()).device) await fetchPlan().catch(() => {});
  });
}

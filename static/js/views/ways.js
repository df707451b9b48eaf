/* How this phone is used: kept on it alone, never sent. {mute: no voice while counting, big: larger targets or not}. */

import { change } from "../store/db.js";

/** Change some of the ways; the state has them at once. */
export async function setWays(app, more) {
  app.state.ways = await change("ways", (ways) => ({ ...ways, ...more }));
}

/** Larger targets: as chosen here, else where both hands are hurt and hold the phone.
    @param {App} app */
export function big(app) {
  const sides = new Set((app.state.plan?.body.courses ?? []).filter((course) => course.hand).map((course) => course.working_side));
  return app.state.ways.big ?? (sides.size > 1 && !carers(app));
}

/** Whether somebody else's hands hold the phone.
    @param {App} app */
export const carers = (app) => app.state.device?.whose === "carer";

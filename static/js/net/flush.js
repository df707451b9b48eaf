/* Send the outbox: one sender at a time over page and worker, trouble first. */

import { batch, backOff, fate, settle, unstored } from "../core/queue.js";
import { apply, load, tick } from "../store/state.js";
import { alone } from "../store/word.js";
import { Refused, call, expect, noteEnd } from "./api.js";
import { fetchPlan, recover, touch } from "./fetch.js";

export { alone };

const REPLACED = "device_replaced";   // the app on the home screen took this page's place: what it holds may still be sent

/** @type {Promise<Sent> | null} */
let queued = null;
let failures = 0;
let notBefore = 0;

const entries = async () => (await load()).outbox;

/** Send all that waits; resolves with {sent, ok}. Callers that come while one waits share its turn.
    @returns {Promise<Sent>} */
export function flush() {
  queued ??= alone(() => {
    queued = null;   // from here on a new caller needs a turn of its own: it may have brought something
    return send();
  });
  return queued;
}

/** As flush, but after failures it lets some time pass; for timers. */
async function flushInTime() {
  return Date.now() < notBefore ? { sent: 0, ok: false } : flush();
}

/** @returns {Promise<Sent>} */
async function send() {
  let sent = 0;
  try {
    const { ended, device } = await load();
    if ((ended && ended !== REPLACED) || !device) return { sent, ok: false };
    for (let items = batch(await entries()); items.length; items = batch(await entries())) {
      const settled = await upload(items);
      sent += settled.gone.length;
      if (!settled.gone.length && !settled.refused.length) break;   // an answer that names nothing must not spin
    }
    const again = unstored(await entries());
    if (again.length) sent += (await upload(again)).gone.length;
    failures = 0;
    notBefore = 0;
    return { sent, ok: true };
  } catch (error) {
    await mend(error);
    notBefore = Date.now() + backOff(++failures);
    return { sent, ok: false };
  }
}

/** A phone taken out is noted; a stale CSRF token comes anew with the plan.
    @param {unknown} error */
async function mend(error) {
  await noteEnd(error);
  if (error instanceof Refused && error.status === 403) await fetchPlan().catch(() => {});
}

/** @param {Item[]} items */
async function upload(items) {
  const state = await load();
  const left = state.outbox.filter((entry) => !entry.refused).length - items.length;
  const body = { outbox_left_after: Math.max(0, left), plan_version: state.plan?.body.version ?? null, items };
  try {
    const answer = await call("POST", "/phone/uploads", body);
    return await kept(items, expect(answer, ({ results }) => Array.isArray(results)).results);
  } catch (error) {
    return refusedWhole(items, error);
  }
}

/** @param {Item[]} items @param {Result[]} results */
async function kept(items, results) {
  const settled = settle(items, results);
  await apply(settled, items, await tick());
  return settled;
}

/** A batch refused whole hides which item was meant: send them one by one; one alone is kept as refused.
    @param {Item[]} items @param {unknown} error */
async function refusedWhole(items, error) {
  if (!(error instanceof Refused)) throw error;
  const what = fate(error.status, failures);
  if (what === "later" || (what === "one_by_one" && items.length === 1)) throw error;
  if (items.length === 1) return kept(items, [{ id: items[0].id, result: "refused", code: error.code, message: error.message }]);
  return oneByOne(items, what === "one_by_one");
}

/** Each item alone; `patient`: one that the server chokes on stays and does not keep the others.
    @param {Item[]} items @param {boolean} patient */
async function oneByOne(items, patient) {
  /** @type {Settled} */
  const all = { gone: [], refused: [] };
  for (const item of items) {
    const one = await upload([item]).catch((error) => {
      if (patient && error instanceof Refused) return { gone: [], refused: [] };
      throw error;
    });
    all.gone.push(...one.gone);
    all.refused.push(...one.refused);
  }
  return all;
}

/** Send, say where we are, and get the plan when something was sent, it changed, or it is `stale`.
    @param {'page' | 'worker'} via @param {Meet} given */
export async function meet(via, { stale = false, timed = false } = {}) {
  const { ended, device } = await load();
  if (!device && !ended && stale) await recover();
  if (ended === REPLACED) await flush();
  if (ended || !(await load()).device) return false;
  const { sent } = timed ? await flushInTime() : await flush();   // an upload that fails must not keep a stop from arriving
  try {
    const version = await touch(via);
    const { plan } = await load();
    if (sent || stale || !plan || plan.body.version !== version) await fetchPlan();
    return true;
  } catch (error) {
    await mend(error);
    return false;   // no network: what is kept here goes on
  }
}

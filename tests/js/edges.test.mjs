/* What becomes of entries when the patient, the server's answer or the clock is another than expected. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { sortOut } from "../../static/js/core/apart.js";
import { offsetOf } from "../../static/js/core/clock.js";
import { fate } from "../../static/js/core/queue.js";

const entry = (id, course, more = {}) => ({ item: { id, course, type: "bout", ...more } });
const bout = (id, course, acked_seq = null) => ({ id, course, acked_seq });
const HELD = {
  outbox: [entry("a1", "A"), { ...entry("a2", "A", { type: "trouble" }), refused: { code: "x", message: "" } }],
  bouts: [bout("a1", "A"), bout("a0", "A", 4)], reports: [{ id: "a2", course: "A" }], apart: [],
};
const NOBODY = { outbox: [], bouts: [], reports: [] };

test("what waits of another patient is kept apart with what is shown of it; what had arrived is let go", () => {
  const { apart, ...shown } = sortOut(HELD, ["B"]);
  assert.deepEqual(shown, NOBODY);
  assert.deepEqual(apart.map(({ entry: { item }, bout: own, report }) => [item.id, own?.id, report?.id]), [["a1", "a1", undefined], ["a2", undefined, "a2"]]);
});

test("it comes back, refusals too, when the same patient is linked again, and stays apart until then", () => {
  const away = sortOut(HELD, []);
  assert.deepEqual(sortOut(away, ["B"]), away);
  const back = sortOut(away, ["A", "C"]);
  assert.deepEqual(back.outbox, HELD.outbox);
  assert.deepEqual([back.bouts.map(({ id }) => id), back.reports.map(({ id }) => id), back.apart], [["a1"], ["a2"], []]);
});

test("linking the same patient again changes nothing, of a closed course neither", () => {
  assert.deepEqual(sortOut(HELD, ["A"]), HELD);
});

test("a report taken back goes apart with its report", () => {
  const held = { outbox: [entry("t", "A", { type: "taken_back", trouble: "r" })], bouts: [], reports: [{ id: "r", course: "A" }], apart: [] };
  assert.equal(sortOut(held, ["B"]).apart[0].report.id, "r");
  assert.equal(sortOut(sortOut(held, ["B"]), ["A"]).reports[0].id, "r");
});

test("a refusal of the items is kept and shown; of the phone, of the hour, or a failure of the server, it is tried again", () => {
  assert.deepEqual([400, 404, 409, 413, 422].map((status) => fate(status, 0)), Array(5).fill("kept"));
  assert.deepEqual([401, 403, 408, 425, 429, 500, 502, 503, 504].map((status) => fate(status, 0)), Array(9).fill("later"));
});

test("a batch at which the server fails again and again is sent one by one, so that one bad item keeps no other", () => {
  assert.deepEqual([fate(500, 2), fate(500, 3), fate(503, 9)], ["later", "one_by_one", "later"]);
});

test("the offset is the server's time less the middle of the request, a day's error too", () => {
  const sent = Date.parse("2026-11-28T14:00:00.000Z");
  assert.equal(offsetOf("2026-11-27T14:00:01.000Z", sent, sent + 2000), -86_400_000);
});

/* What the ways of counting share: the number, its boxes, and a screen that stays awake. */

import { say } from "../core/words.js";
import { h, sign } from "./dom.js";

const MOST_BOXES = 20;

/** The number at arm's length, and beside it how many are asked for, or `beside`. `spoken` is read aloud in its place. */
export function face(figure, amount, unit, done, spoken = null, beside = say(`of_${unit}`, { n: amount })) {
  const number = spoken ? { role: "img", "aria-label": spoken } : { role: "status" };
  return h("div", { class: "count" }, h("p", { class: "big", ...number }, String(figure)),
    h("div", {}, h("p", { class: "of" }, beside), unit === "times" && amount <= MOST_BOXES ? boxes(amount, done) : null));
}

const boxes = (amount, done) => h("ol", { class: "boxes", "aria-hidden": "true" },
  Array.from({ length: amount }, (_, i) => h("li", { class: i === done ? "cur" : null }, i < done ? sign("logged") : null)));

/** Keep the screen awake while counting, where the system lets us; call what it returns to let it sleep. */
export function awake() {
  let held = null;
  let over = false;
  const ask = () => {
    if (over || document.visibilityState !== "visible" || !navigator.wakeLock) return;
    held = navigator.wakeLock.request("screen").catch(() => null);
  };
  document.addEventListener("visibilitychange", ask);   // the system takes the lock away while the page is out of sight
  ask();
  return () => {
    over = true;
    document.removeEventListener("visibilitychange", ask);
    held?.then((lock) => lock?.release());
  };
}

/** A short buzz, where the device has one: lengths and gaps in ms. */
export const buzz = (...lengths) => navigator.vibrate?.(lengths);

/* The patient's wishes for quiet: those of the plan, and those still on their way. */

import { ms } from "./clock.js";

/** Wishes in force or on their way, as the plan tells them; what is being ended is left out. `entries` is the outbox.
    @param {Wish[] | undefined} told @param {Entry[]} entries @param {number} now @returns {Wish[]} */
export function wishes(told, entries, now) {
  const mine = entries.flatMap(({ item, refused }) => (item.type === "quiet" && !refused ? item : []));
  const ended = new Set(mine.map((item) => item.ends).filter(Boolean));
  /** @type {any[]} */
  const coming = mine.filter((item) => item.kind !== "end" && !(told ?? []).some((wish) => wish.id === item.id));
  return [...(told ?? []), ...coming].filter((wish) => !ended.has(wish.id) && !(wish.until && ms(wish.until) <= now));
}

/** Until when it is quiet now, in ms, or null.
    @param {Wish[]} list */
export function quietUntil(list) {
  const ends = list.filter((wish) => wish.kind === "until" || wish.kind === "in_15_minutes").map((wish) => ms(wish.until));
  return ends.length ? Math.max(...ends) : null;
}

/** Weekly wishes of the same hours together: [{opens, closes, weekdays, ids}], by the first weekday.
    @param {Wish[]} list */
export function weeks(list) {
  const found = new Map();
  for (const { id, weekday, opens, closes, kind } of list) {
    if (kind !== "weekly") continue;
    const key = `${opens} ${closes}`;
    const group = found.get(key) ?? { opens, closes, weekdays: [], ids: [] };
    found.set(key, { ...group, weekdays: [...group.weekdays, weekday].sort(), ids: [...group.ids, id] });
  }
  return [...found.values()].sort((a, b) => a.weekdays[0] - b.weekdays[0]);
}

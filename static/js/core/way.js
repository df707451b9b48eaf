/* What is said and heard of reminders while the app is open. */

export { rings, wayOf } from "./reminding.js";

/** What to say of the calendar file: "changed", "ends" within two days, or null.
    @param {Reminded} state @param {string} today @param {string} soon */
export function calendarNews(state, today, soon) {
  if (!state.calendar || state.push === "granted") return null;
  if (state.calendar_now && state.calendar_now !== state.calendar.mark) return "changed";
  return state.calendar.last <= soon ? "ends" : null;
}

/** The slots that have begun since the last look, still asked for and not muted.
    @param {Slot[]} slots @param {number} since @param {number} now @param {(iso: string) => number} ms */
export function begun(slots, since, now, ms) {
  return slots.filter((slot) => since < ms(slot.start) && ms(slot.start) <= now && slot.standing === "ahead" && !slot.muted);
}

/** Whether a sound would come within half an hour of the day's first slot or last end: near waking or sleep.
    @param {Slot[]} slots @param {Slot} slot @param {(iso: string) => number} ms */
export function nearSleep(slots, slot, ms, edge = 30 * 60_000) {
  const day = slots.filter((each) => each.day === slot.day);
  const at = ms(slot.start);
  return at < Math.min(...day.map((each) => ms(each.start))) + edge || at > Math.max(...day.map((each) => ms(each.end))) - edge;
}

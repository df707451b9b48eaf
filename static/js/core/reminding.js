/* Which way of reminding is in force on this phone; the server is told, by the worker too. */

/** Whether the calendar file that was taken still rings; `today` is an ISO date.
    @param {State["calendar"]} calendar @param {string} today */
export const rings = (calendar, today) => Boolean(calendar && today <= calendar.last);

/** "push", "calendar", "in_app" or "none": the best of those in force.
    @param {Reminded} state @param {string} today */
export function wayOf(state, today) {
  if (state.push === "granted") return "push";
  if (rings(state.calendar, today)) return "calendar";
  return state.ways?.ring === false ? "none" : "in_app";
}

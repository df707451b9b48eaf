/* Whose entries these are: what is of other courses than this patient's is kept apart, never sent and never shown. */

/** The key of the report that an entry belongs to.
    @param {Item} item */
const reportOf = (item) => (item.type === "taken_back" ? item.trouble : item.id);

/** Sort what a phone holds by the courses of the patient it is linked with; of nobody's, where there are none.
    Entries of other courses go apart, with what is shown of them; those kept apart come back. All else of others is let go.
    @param {Held} held @param {string[]} courses @returns {Held} */
export function sortOut({ outbox, bouts, reports, apart }, courses) {
  /** @param {string} course */
  const mine = (course) => courses.includes(course);
  const away = outbox.filter(({ item }) => !mine(item.course)).map((entry) => ({
    entry, bout: bouts.find((bout) => bout.id === entry.item.id) ?? null,
    report: reports.find((report) => report.id === reportOf(entry.item)) ?? null,
  }));
  const [back, stay] = split(apart, ({ entry }) => mine(entry.item.course));
  return {
    outbox: [...outbox.filter(({ item }) => mine(item.course)), ...back.map(({ entry }) => entry)],
    bouts: [...bouts.filter((bout) => mine(bout.course)), ...back.flatMap(({ bout }) => bout ?? [])],
    reports: [...reports.filter((report) => mine(report.course)), ...back.flatMap(({ report }) => report ?? [])],
    apart: [...stay, ...away],
  };
}

/** @template T @param {T[]} list @param {(each: T) => boolean} test */
function split(list, test) {
  return [list.filter(test), list.filter((each) => !test(each))];
}

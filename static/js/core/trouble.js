/* Which troubles a course offers, and which of them an answer of the daily check leads to. */

/** The list of a course, in the order to show; two open courses may wear different splints.
    @param {PlanBody} plan @param {Course | null} course */
export const troublesOf = (plan, course) => course?.troubles ?? plan.troubles ?? [];

/** A trouble by its kind, as its course words it.
    @param {PlanBody} plan @param {Course | null} course @param {string} kind @returns {any} */
export function troubleOf(plan, course, kind) {
  /** @param {Trouble[]} list */
  const of = (list) => list.find((trouble) => trouble.kind === kind);
  return of(troublesOf(plan, course)) ?? of(plan.troubles ?? []);
}

/** Troubles of these kinds that can be reported in the course, in the order of `kinds`.
    @param {PlanBody} plan @param {Course} course @param {string[]} kinds */
export const offered = (plan, course, kinds) => kinds.flatMap((kind) => troublesOf(plan, course).filter((trouble) => trouble.kind === kind));

/** Who has taken up a report of the course, newest first: {by, at, ring_by}. Old plans have none.
    @param {Course | null} course */
export const seenOf = (course) => course?.seen ?? [];

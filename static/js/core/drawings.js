/* Drawings are most of a plan: those that the plan before has are not sent again. */

/** The hashes of the drawings a kept plan has, as the question for a new one: they need not be sent again.
    @param {Plan | null} plan */
export function heldQuery(plan) {
  const hashes = (plan?.body.courses ?? []).flatMap((course) => (course.figures ?? []).filter((each) => each.svg).map((each) => each.hash));
  return hashes.length ? `?held=${[...new Set(hashes)].join(",")}` : "";
}

/** A new plan with the drawings it left out because the plan before has them. @param {PlanBody} body @param {Plan | null} before @returns {PlanBody} */
export function withHeld(body, before) {
  const kept = new Map((before?.body.courses ?? []).flatMap((course) => (course.figures ?? []).map((each) => [each.hash, each.svg])));
  /** @param {Figure} each @returns {Figure} */
  const whole = (each) => (each.svg ? each : { ...each, svg: kept.get(each.hash) ?? null });
  return { ...body, courses: body.courses.map((course) => (course.figures ? { ...course, figures: course.figures.map(whole) } : course)) };
}

/* When a stop that was set on this phone ends: by a plan that knew of it, and by nothing else. */

/** A local stop stays until its report was acknowledged before a plan was fetched that has no stop.
    @param {TroubleReport} stop @param {Course | undefined} course @param {number} planSeq */
export function lifted(stop, course, planSeq) {
  if (stop.taken_back) return stop.back_acked_seq != null && stop.back_acked_seq <= planSeq;
  const known = stop.acked_seq != null && stop.acked_seq <= planSeq;
  if (known && !stop.stops) return true;   // a report that stops nothing needs no resuming
  if (!known || !course || course.stop) return false;
  return stop.question ? course.hand_question?.id !== stop.question : true;
}

"""A clinician releases a phase, goes back to one, or frees an exercise held apart."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from ..domain.clock import ceil_minute
from ..domain.course import day_number
from ..domain.errors import Conflict, Invalid
from ..domain.regime import Phase, Regime
from ..domain.timetable import course_day
from ..storage import releases, scope
from ..storage.courses import confirmation, facts_in_force, state
from ..storage.models import Course, Release, Revision
from ..storage.regimes import pending, regime_of
from ..storage.timelines import open_holds, phase_in_force, regime_in_force, settings_of
from .actor import Actor, require_clinician
from .begin_release import is_held
from .check_texts import unsigned_texts
from .course_changed import course_changed
from .hold_course import end_hold
from .keep_audit import keep
from .pass_alert import condition_ended

NOT_AT_HAND = "The splint of this phase must be fitted, or at hand."
NOT_FITTED = "A splint still to be fitted is not signed ahead: fit it first."
AHEAD = timedelta(days=10)  # how far ahead a release may be signed
Fields = dict[str, list[str]]


@dataclass(frozen=True, slots=True)
class Signed:
    """What the clinician signs. `revision_id` None: under the revision in force."""

    phase: str
    splint_fitted: bool
    hand_examined: bool
    reason: str = ""
    exercise: str | None = None  # released apart from its phase
    not_before: date | None = None  # signed ahead; not begun until the phone has answered
    revision_id: uuid.UUID | None = None


def release_phase(
    db: Session, by: Actor, course_id: uuid.UUID, signed: Signed, now: datetime
) -> Release:
    """Release a phase (or one exercise of the phase in force) from the next whole minute.

    Releasing an earlier phase is going back: texts not signed do not keep from it. A revision
    that waits for a release takes effect with the release under it. Holds until release end with
    it. Raises Forbidden, Conflict (not confirmed, or corrected since), Invalid with a message per
    field.
    """
    require_clinician(by, "release a phase")
    course = scope.get(db, Course, by.clinic_id, course_id)
    _refuse_unconfirmed(db, course, now)
    revision, regime = _under(db, course, signed, now)
    _refuse(db, course, regime, signed, now)
    if signed.exercise is None:
        _take_place(db, course, now)
    row = _row(course, by, revision, signed, now)
    db.add(row)
    keep(db, by, "released", row, now)
    if row.starts is not None:
        _begin(db, by, course, revision, row, now)
    return row


def _take_place(db: Session, course: Course, now: datetime) -> None:
    """What was signed ahead before is not begun any more, nor is it told that it lapsed."""
    while (earlier := releases.waiting(db, course.id, now)) is not None:
        releases.lapse(db, earlier, now)
    condition_ended(db, course, "release_lapsed", now)


def _refuse_unconfirmed(db: Session, course: Course, now: datetime) -> None:
    stands = state(db, course, now)
    if stands == "closed":
        raise Conflict("course_closed", "This course is closed.")
    if stands == "unconfirmed":
        raise Conflict("not_confirmed", "Confirm side, finger, structures and regime first.")
    if confirmation(db, course, now) is None:
        raise Conflict("confirm_again", "Facts were corrected: confirm the course again first.")


def _under(db: Session, course: Course, signed: Signed, now: datetime) -> tuple[Revision, Regime]:
    """The revision a release is signed under: the one in force, or the one that waits."""
    in_force = regime_in_force(db, course, now)
    if signed.revision_id is None or (in_force and in_force[0].id == signed.revision_id):
        if in_force is None:
            raise Conflict("no_regime", "Set a regime first.")
        return in_force
    waits = pending(db, course, now)
    if waits is None or waits.id != signed.revision_id:
        raise Conflict("revision_gone", "That revision is neither in force nor waiting.")
    return waits, regime_of(waits.body)


def _refuse(db: Session, course: Course, regime: Regime, signed: Signed, now: datetime) -> None:
    phase = regime.phase(signed.phase)
    if phase is None:
        raise Invalid("release_invalid", "No such phase.", {"phase": ["No such phase."]})
    if signed.exercise is not None:
        _refuse_exercise(db, course, phase, signed, now)
        return
    present = phase_in_force(db, course, now)
    back = present is not None and _place(regime, phase.key) < _place(regime, present.key)
    fields = _examined(phase, signed, back)
    fields |= _too_early(phase, signed, _day(db, course, signed, now))
    fields |= _ahead(db, course, regime, phase, signed, now)
    if not back and phase.splint.worn:
        unsigned = unsigned_texts(db, course.patient_id, phase.splint.worn, now)
        fields |= {"phase": unsigned} if unsigned else {}
    if fields:
        raise Invalid("release_invalid", "This phase cannot be released so.", fields)


def _place(regime: Regime, key: str) -> int:
    return next((n for n, each in enumerate(regime.phases) if each.key == key), len(regime.phases))


def _examined(phase: Phase, signed: Signed, back: bool) -> Fields:
    """Fitted and examined, but for going back by telephone, which needs a reason."""
    fields: Fields = {}
    if phase.splint.worn and not signed.splint_fitted:
        fields["splint_fitted"] = [NOT_FITTED if signed.not_before else NOT_AT_HAND]
    if not signed.hand_examined and not (back and signed.reason.strip()):
        fields["hand_examined"] = (
            ["Not examined: say why you go back now."] if back else ["Examine the hand first."]
        )
    return fields


def _too_early(phase: Phase, signed: Signed, day: int) -> Fields:
    if phase.earliest_day is None or day >= phase.earliest_day or signed.reason.strip():
        return {}
    message = f"Earliest day {phase.earliest_day}; this is day {day}. Give the reason."
    return {"reason": [message]}


def _day(db: Session, course: Course, signed: Signed, now: datetime) -> int:
    """The post-operative day on which the phase would begin at the earliest."""
    today = course_day(settings_of(db, course, now), now)
    operation = facts_in_force(db, course, now)["operation_date"]
    return day_number(signed.not_before or today, operation)


def _ahead(
    db: Session, course: Course, regime: Regime, phase: Phase, signed: Signed, now: datetime
) -> Fields:
    """A release ahead: within 10 days, not the first motion, not a splint still to be fitted."""
    if signed.not_before is None:
        return {}
    today = course_day(settings_of(db, course, now), now)
    moved = _moves_repair(regime, phase_in_force(db, course, now))
    if not today < signed.not_before <= today + AHEAD:
        return {"not_before": ["One to ten days ahead."]}
    if not moved and any(each.moves_repair for each in phase.exercises):
        return {"not_before": ["The first motion of the repair is not signed ahead."]}
    if releases.trouble_open(db, course.id) or is_held(db, course, now):
        return {"not_before": ["Trouble is open, or exercises are held: see to that first."]}
    return {}


def _moves_repair(regime: Regime, present: Phase | None) -> bool:
    """Whether the repair has been moved up to the present phase."""
    if present is None:
        return False
    reached = regime.phases[: _place(regime, present.key) + 1]
    return any(each.moves_repair for phase in reached for each in phase.exercises)


def _refuse_exercise(
    db: Session, course: Course, phase: Phase, signed: Signed, now: datetime
) -> None:
    present = phase_in_force(db, course, now)
    exercise = phase.exercise(signed.exercise)
    fields: Fields = {}
    if present is None or present.key != phase.key:
        fields["phase"] = ["An exercise is released in the phase that is in force."]
    held = any(hold.exercise == signed.exercise for hold in open_holds(db, course, now))
    if exercise is None or not (exercise.held_until_release or held):
        fields["exercise"] = ["No such exercise is held in this phase."]
    if not signed.hand_examined:
        fields["hand_examined"] = ["Examine the hand first."]
    if signed.not_before is not None:
        fields["not_before"] = ["An exercise is not signed ahead: release it when it may begin."]
    if fields:
        raise Invalid("release_invalid", "This exercise cannot be released so.", fields)


def _row(course: Course, by: Actor, revision: Revision, signed: Signed, now: datetime) -> Release:
    return Release(
        at=now, clinic_id=course.clinic_id, course_id=course.id, phase=signed.phase,
        revision_id=revision.id, starts=None if signed.not_before else ceil_minute(now),
        not_before=signed.not_before, splint_fitted=signed.splint_fitted,
        hand_examined=signed.hand_examined, exercise=signed.exercise,
        note=signed.reason.strip() or None, by_id=by.id,
    )  # fmt: skip


def _begin(
    db: Session, by: Actor, course: Course, revision: Revision, row: Release, now: datetime
) -> None:
    """The waiting revision takes effect, holds until this release end, and all that follows."""
    if revision.effective_from is None:
        revision.effective_from = row.starts
    for hold in open_holds(db, course, now):
        if hold.kind == "until_release" and hold.exercise == row.exercise:
            end_hold(db, by, hold, "released", now)
    course_changed(db, course, now, now)

"""Set a regime: a new immutable revision, from a template a clinic has approved."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from ..domain.clock import ceil_minute
from ..domain.errors import Conflict, Invalid
from ..domain.regime import (
    Finding,
    Phase,
    Reasons,
    Regime,
    check,
    limited_phases,
    parse,
    plan_hash,
    refuse_blocked,
    to_json,
    widened_phases,
)
from ..domain.regime.dose import Schedule
from ..domain.timetable import Setting, refuse_times_outside_waking
from ..storage import scope
from ..storage.courses import state
from ..storage.limits import limits_of
from ..storage.models import Course, Revision, Template
from ..storage.regimes import pending, regime_of, releases, revisions, standing
from ..storage.repair_facts import repair_facts
from ..storage.timelines import phase_in_force, regime_in_force, settings_of
from .actor import Actor, require_clinician
from .course_changed import course_changed
from .keep_audit import keep


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be prescribed. `limits` are exercise keys whose slot in progress is excused."""

    template_id: uuid.UUID | None
    body: Any  # the regime as JSON
    reason: str
    reasons: Reasons = field(default_factory=dict)  # rule -> reason
    limits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Saved:
    """The new revision and what the clinician is told of it."""

    revision: Revision
    cancelled: Revision | None  # the pending one this has taken the place of
    waits: dict[str, list[str]]  # phases to be released under it -> what it widens there
    warnings: tuple[Finding, ...]


def set_regime(
    db: Session, by: Actor, course_id: uuid.UUID, wanted: Wanted, now: datetime
) -> Saved:
    """Save a revision, in force from the next whole minute, or once released under it.

    Raises Invalid with a message per field of the body, Conflict where it takes the place of one
    that is about to take effect, Forbidden for anyone but a clinician.
    """
    require_clinician(by, "set a regime")
    course = scope.get(db, Course, by.clinic_id, course_id)
    if state(db, course, now) == "closed":
        raise Conflict("course_closed", "This course is closed.")
    template = _template(db, by, wanted)
    regime, findings = _regime(db, course, wanted, template, now)
    earlier = pending(db, course, now)
    waits = _waits(db, course, regime, wanted, now)
    _refuse_hiding(earlier, waits)
    row = _row(db, by, course, wanted, regime, now)
    row.effective_from = None if waits else ceil_minute(now)
    row.limits = _limits(wanted, earlier)
    db.add(row)
    keep(db, by, "regime_set", row, now)
    if earlier is not None:
        earlier.cancelled_by_id = row.id
    course_changed(db, course, now, now)
    warnings = tuple(f for f in findings if f.severity == "warn")
    return Saved(row, earlier, waits, warnings)


def regime_findings(
    db: Session, by: Actor, course_id: uuid.UUID, wanted: Wanted, now: datetime
) -> list[Finding]:
    """What the rules say of a regime before it is saved; empty while it cannot be meant."""
    course = scope.get(db, Course, by.clinic_id, course_id)
    template = _template(db, by, wanted)
    model = regime_of(template.body) if template else _model(db, course, now)
    facts, limits = repair_facts(db, course, now), limits_of(db, by.clinic_id, now)
    try:
        return check(parse(wanted.body), model, facts, wanted.reasons, limits)
    except Invalid:
        return []


def _template(db: Session, by: Actor, wanted: Wanted) -> Template | None:
    """The template started from; only an approved one. None goes on from the course's own."""
    if wanted.template_id is None:
        return None
    template = scope.get(db, Template, by.clinic_id, wanted.template_id)
    if not standing(db, template).usable:
        message = "A clinician must approve this template first."
        raise Invalid("template_unapproved", message, {"template": [message]})
    return template


def _regime(
    db: Session, course: Course, wanted: Wanted, template: Template | None, now: datetime
) -> tuple[Regime, list[Finding]]:
    """The regime that is meant; raises Invalid with every fault and every refusal."""
    regime = parse(wanted.body)
    model = regime_of(template.body) if template else _model(db, course, now)
    if model is None:
        message = "Start from a template that is approved."
        raise Invalid("template_missing", message, {"template": [message]})
    facts = repair_facts(db, course, now)
    limits = limits_of(db, course.clinic_id, now)
    findings = check(regime, model, facts, wanted.reasons, limits)
    findings += _asleep(regime, settings_of(db, course, now)[-1])
    _refuse_unsaid(wanted, regime)
    refuse_blocked(findings)
    return regime, findings


def _model(db: Session, course: Course, now: datetime) -> Regime | None:
    """The template the course's regime was started from."""
    for row in reversed(revisions(db, course, now)):
        if row.template_id is not None:
            return regime_of(scope.get(db, Template, course.clinic_id, row.template_id).body)
    return None


def _asleep(regime: Regime, setting: Setting) -> list[Finding]:
    """Times of day at which the patient sleeps."""
    return [
        Finding(f"phases.{p}.{where}.schedule", message, "refuse", "outside_waking")
        for p, phase in enumerate(regime.phases)
        for where, schedule in _schedules(phase)
        for message in refuse_times_outside_waking(schedule, setting.week)
    ]


def _schedules(phase: Phase) -> Iterator[tuple[str, Schedule]]:
    for number, exercise in enumerate(phase.exercises):
        yield f"exercises.{number}", exercise.schedule
    if phase.rehearsal is not None:
        yield "rehearsal", phase.rehearsal.schedule


def _refuse_unsaid(wanted: Wanted, regime: Regime) -> None:
    known = {each.key for phase in regime.phases for each in phase.exercises}
    fields: dict[str, list[str]] = {}
    if not wanted.reason.strip():
        fields["reason"] = ["Say why."]
    if set(wanted.limits) - known:
        fields["limits"] = ["No such exercise."]
    if fields:
        raise Invalid("regime_refused", "This regime cannot be saved as it stands.", fields)


def _waits(
    db: Session, course: Course, regime: Regime, wanted: Wanted, now: datetime
) -> dict[str, list[str]]:
    """What it widens in released phases: then it waits, and may take nothing back."""
    before = _before(db, course, now)
    if before is None:
        return {}
    present = phase_in_force(db, course, now)
    if present and regime.phase(present.key) is None:
        message = f"The stage in force, '{present.name}', must stay in the regime."
        raise Invalid("phase_missing", message, {"phases": [message]})
    freed = _released(db, course, now) | ({present.key} if present else set())
    widened = {k: v for k, v in widened_phases(before, regime).items() if k in freed}
    taken_back = limited_phases(before, regime)
    if widened and (taken_back or wanted.limits):
        raise _both(regime, widened, taken_back)
    return widened


def _before(db: Session, course: Course, now: datetime) -> Regime | None:
    """The regime this one is compared with: that in force, else the one about to be."""
    found = regime_in_force(db, course, now)
    return found[1] if found else None


def _released(db: Session, course: Course, now: datetime) -> set[str]:
    """Phases signed ahead: they may begin without another look at the hand."""
    return {r.phase for r in releases(db, course, now) if r.starts is None and not r.lapsed_at}


def _both(
    regime: Regime, widened: dict[str, list[str]], taken_back: dict[str, list[str]]
) -> Invalid:
    """It widens and takes back at once: each line says what, under its phase."""
    fields: dict[str, list[str]] = {}
    for number, phase in enumerate(regime.phases):
        words = [f"Takes back: {each}" for each in taken_back.get(phase.key, [])]
        words += [f"Widens: {each}" for each in widened.get(phase.key, [])]
        if words:
            fields[f"phases.{number}"] = words
    message = "Save what is taken back first, as a revision of its own; then what is widened."
    return Invalid("widens_and_limits", message, fields)


def _refuse_hiding(earlier: Revision | None, waits: dict[str, list[str]]) -> None:
    """One that waits must not cancel one that takes effect within the minute: it may limit."""
    if waits and earlier is not None and earlier.effective_from is not None:
        message = f"Revision {earlier.number} takes effect within a minute: save this after it."
        raise Conflict("revision_pending", message)


def _row(
    db: Session,
    by: Actor,
    course: Course,
    wanted: Wanted,
    regime: Regime,
    now: datetime,
) -> Revision:
    past: Sequence[Revision] = revisions(db, course, now)
    return Revision(
        at=now, clinic_id=course.clinic_id, course_id=course.id,
        number=past[-1].number + 1 if past else 1,
        body=to_json(regime), plan_hash=plan_hash(regime), template_id=wanted.template_id,
        reason=wanted.reason.strip(),
        surgeon_reasons=_reasons(wanted.reasons), by_id=by.id,
    )  # fmt: skip


def _limits(wanted: Wanted, earlier: Revision | None) -> list[str]:
    """What it limits at once, with what the one it cancels was about to limit this minute."""
    about_to = earlier.limits if earlier and earlier.effective_from else []
    return sorted({*wanted.limits, *about_to})


def _reasons(reasons: Reasons) -> list[dict[str, str | None]]:
    """Reasons as the row keeps them; those of a surgeon stand in the header of the page."""
    return [
        {
            "rule": rule,
            "text": each.text,
            "surgeon": each.surgeon,
            "how": each.how,
            "given_on": each.given_on.isoformat() if each.given_on else None,
        }
        for rule, each in reasons.items()
    ]

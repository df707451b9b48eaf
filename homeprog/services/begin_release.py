"""Begin a release signed ahead once the patient says nothing is wrong, or let it lapse."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from ..domain.clock import ceil_minute
from ..domain.errors import Conflict, Forbidden
from ..domain.regime.ahead import Ground, Since, lapses
from ..domain.timetable.span import day_start
from ..storage import clinics, releases, scope
from ..storage.contacts import latest_contact
from ..storage.courses import confirmation, state
from ..storage.models import ContactNote, Course, Release, Revision
from ..storage.regimes import regime_of
from ..storage.timelines import open_holds, regime_in_force, settings_of
from .actor import Actor
from .course_changed import course_changed
from .each_apart import each_apart
from .keep_audit import keep
from .open_alert import open_alert

ASKED = "Anything wrong since your visit? Nothing."


def begin_release(db: Session, by: Actor, course: Course, release: Release, now: datetime) -> bool:
    """The patient was reached and says nothing is wrong; False where it does not begin.

    It begins at the next whole minute if its day has come and there is no ground to lapse; with
    one it lapses. One that has begun or lapsed stays as it is.
    """
    if state(db, course, now) != "confirmed" or now < earliest(db, course, release, now):
        return False
    if found := ground(db, course, release, now, heard=now):
        lapse_release(db, course, release, found, now)
        return False
    starts = ceil_minute(now)
    if not releases.begin(db, release, starts):
        return False
    revision = db.get_one(Revision, release.revision_id)
    if revision.effective_from is None:
        revision.effective_from = starts
    keep(db, by, "release_begun", release, now)
    course_changed(db, course, now, now)
    return True


def begin_by_telephone(db: Session, by: Actor, release_id: uuid.UUID | str, now: datetime) -> None:
    """Staff asked by telephone and nothing is wrong. Conflict says why it does not begin."""
    if by.kind != "staff" or not (by.clinician or by.role == "therapist"):
        raise Forbidden("role", "This needs a clinician, or the role therapist.")
    release = scope.get(db, Release, by.clinic_id, release_id)
    course = scope.get(db, Course, by.clinic_id, release.course_id)
    if release.not_before is None or release.starts or release.lapsed_at:
        raise Conflict("release_not_waiting", "This release has begun, or has lapsed.")
    if now < earliest(db, course, release, now):
        raise Conflict("release_not_yet", "Its day has not come.")
    if ground(db, course, release, now, heard=now):
        raise Conflict("release_lapses", "Something speaks against it: see the alerts and holds.")
    if not begin_release(db, by, course, release, now):
        raise Conflict("release_not_waiting", "This release has begun, or has lapsed.")
    db.add(
        ContactNote(
            at=now, clinic_id=course.clinic_id, course_id=course.id, how="rang", words=ASKED,
            by_id=by.id,
        )
    )  # fmt: skip


def lapse_releases(db: Session, now: datetime) -> int:
    """Let every release lapse against which something speaks; how many."""
    waiting = {release.id: (course, release) for course, release in releases.all_waiting(db, now)}

    def lapse(key: uuid.UUID) -> int:
        course, release = waiting[key]
        why = ground(db, course, release, now)
        return lapse_release(db, course, release, why, now) if why else 0

    return each_apart(db, "release signed ahead", waiting, lapse)


def lapse_release(
    db: Session, course: Course, release: Release, why: Ground, now: datetime
) -> bool:
    """It lapses, and staff are told; False where it has begun or lapsed before."""
    if not releases.lapse(db, release, now):
        return False
    figures = {
        "phase": release.phase,
        "name": phase_name(db, release),
        "why": why,
        "lapsed": now.isoformat(),
    }
    open_alert(db, course, "release_lapsed", "today", figures, now)
    course_changed(db, course, now, now)
    return True


def ground(
    db: Session, course: Course, release: Release, now: datetime, heard: datetime | None = None
) -> Ground | None:
    """Why the release lapses at `now`; `heard`: when the patient was reached but for a phone."""
    lifting, splint = releases.checked_since(db, course.id, release.at, now)
    words = (latest_contact(db, course.patient_id, now), heard)
    since = Since(
        begins=earliest(db, course, release, now),
        last_word=max((word for word in words if word), default=None),
        trouble=releases.trouble_open(db, course.id),
        held=is_held(db, course, now),
        not_lifting=lifting,
        splint_missing=splint,
        regime_changed=_changed(db, course, release, now),
    )
    hours = clinics.setting(db, course.clinic_id, "no_contact_hours", now)
    return lapses(since, now, timedelta(hours=hours))


def earliest(db: Session, course: Course, release: Release, now: datetime) -> datetime:
    """The waking of its day: nothing begins before."""
    assert release.not_before is not None
    return day_start(settings_of(db, course, now), release.not_before)


def phase_name(db: Session, release: Release) -> str:
    """The name of its stage, by the revision it was signed under."""
    phase = regime_of(db.get_one(Revision, release.revision_id).body).phase(release.phase)
    return phase.name if phase else release.phase


def is_held(db: Session, course: Course, now: datetime) -> bool:
    """Whether all exercises are off for more than a pause, or facts were corrected."""
    if confirmation(db, course, now) is None:
        return True
    holds = open_holds(db, course, now)
    return any(hold.exercise is None and hold.kind != "pause" for hold in holds)


def _changed(db: Session, course: Course, release: Release, now: datetime) -> bool:
    signed = db.get_one(Revision, release.revision_id)
    if signed.effective_from is None:
        return signed.cancelled_by_id is not None
    found = regime_in_force(db, course, now)
    return found is None or found[1].phase(release.phase) is None

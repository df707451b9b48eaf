"""Grounds from what phones said, and did not."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from ...domain.alert.routing import Week
from ...domain.monitor.overdue import no_contact, not_received
from ...storage import clinics, received, watched
from ...storage.received import Change
from .seen import ONE, Found, Watch


def out_of_contact(watch: Watch) -> Found:
    """No word from any phone between one waking and the next; a course without a phone has none.

    A change that the phone does not know is told with it: it is held under this alert.
    """
    paired = watched.paired_since(watch.db, watch.course.patient_id, watch.now)
    if paired is None:
        return {}
    before = watch.waking(watch.today - ONE)
    last = watched.last_word(watch.db, watch.course.patient_id, watch.now)
    if not no_contact(last, paired, before):
        return {}
    figures: dict[str, Any] = {
        "last_word": last.isoformat() if last else None,
        "since": before.isoformat(),
    }
    if told := change_not_received(watch):
        figures["change"] = told["plan_not_received"]
    return {"no_contact": figures}


def change_not_received(watch: Watch) -> Found:
    """The newest change that takes something back and is late on its way to some phone."""
    changes = received.changes_not_received(watch.db, watch.course, watch.now)
    if not changes:
        return {}
    week = _week(watch)
    late = [
        change
        for change in changes
        if not_received(_open_since(watch, week, change), _allowed(watch))
        and received.takes_back(watch.db, change)
    ]
    if not late:
        return {}
    newest = max(late, key=lambda change: change.at)
    figures = {"what": newest.what, "since": newest.at.isoformat(), "phones": newest.phones}
    return {"plan_not_received": figures}


def _allowed(watch: Watch) -> timedelta:
    return timedelta(hours=watch.own["plan_received_clinic_hours"])


def _week(watch: Watch) -> Week:
    clinic = watch.course.clinic_id
    return Week(
        watch.clinic_zone,
        clinics.hours(watch.db, clinic, watch.now),
        (),
        clinics.closing(watch.db, clinic, watch.now),
    )


def _open_since(watch: Watch, week: Week, change: Change) -> timedelta:
    """Clinic hours since the change; all hours where the clinic named none."""
    return week.elapsed(change.at, watch.now, trouble=False)

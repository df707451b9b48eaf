"""Grounds from what staff have in hand: stages, visits, understanding."""

from __future__ import annotations

from datetime import date, datetime

from ...domain.clock import local
from ...domain.monitor.overdue import phase_overdue, visit_missed
from ...domain.regime import Phase
from ...storage import clinics, grounds, releases
from ...storage.models import Revision
from ...storage.regimes import regime_of
from ...storage.visits import next_visit
from .seen import ONE, Found, Watch

RING_TASKS = ("not_yet",)  # of the tasks 'ring' that a 'not yet' makes


def phase_not_released(watch: Watch) -> Found:
    """The phase after the one in force, once overdue."""
    following = _following(watch)
    if following is None or following.earliest_day is None or _signed(watch, following.key):
        return {}
    earliest = watch.operation + following.earliest_day * ONE
    visit = _visit_for(watch, following.key)
    if not phase_overdue(earliest, _told_on(watch, earliest), visit, watch.clinic_today):
        return {}
    figures = {
        "phase": following.key,
        "name": following.name,
        "earliest": earliest.isoformat(),
        "visit": visit.isoformat() if visit else None,
    }
    return {"phase_not_released": figures}


def _following(watch: Watch) -> Phase | None:
    if watch.regime is None or watch.phase is None:
        return None
    keys = [each.key for each in watch.regime.phases]
    after = watch.regime.phases[keys.index(watch.phase.key) + 1 :]
    return after[0] if after else None


def _signed(watch: Watch, phase: str) -> bool:
    """Whether its release is signed ahead and waits for the patient's answer."""
    waiting = releases.waiting(watch.db, watch.course.id, watch.now)
    return waiting is not None and waiting.phase == phase


def _visit_for(watch: Watch, phase: str) -> date | None:
    visit = next_visit(watch.db, watch.course, watch.now)
    return visit.planned if visit is not None and visit.for_phase == phase else None


def _told_on(watch: Watch, earliest: date) -> date:
    days = int(watch.own["phase_overdue_clinic_days"])
    return clinics.clinic_day_after(watch.db, watch.course.clinic_id, earliest, days, watch.now)


def missed_visit(watch: Watch) -> Found:
    """The next visit, once its day has passed and nobody said what became of it."""
    visit = next_visit(watch.db, watch.course, watch.now)
    if visit is None or not visit_missed(visit.planned, watch.clinic_today):
        return {}
    stage = watch.regime.phase(visit.for_phase) if watch.regime and visit.for_phase else None
    figures = {"planned": visit.planned.isoformat(), "for": stage.name if stage else None}
    return {"visit_missed": figures}


def lapsed(watch: Watch) -> Found:
    """A release signed ahead that lapsed, until another is signed."""
    row = grounds.lapsed_last(watch.db, watch.course.id, watch.now)
    if row is None or row.lapsed_at is None or row.lapsed_at > watch.now:
        return {}
    phase = regime_of(watch.db.get_one(Revision, row.revision_id).body).phase(row.phase)
    name = phase.name if phase else row.phase
    figures = {"phase": row.phase, "name": name, "lapsed": row.lapsed_at.isoformat()}
    return {"release_lapsed": figures}


def not_yet(watch: Watch) -> Found:
    """The oldest item not yet understood, from the day after on, until somebody has rung."""
    open_items = [
        (item, at)
        for item, at in grounds.not_yet(watch.db, watch.course.id, watch.now)
        if _date(watch, at) < watch.clinic_today
        and not grounds.task_done_since(watch.db, watch.course.id, RING_TASKS, at)
    ]
    if not open_items:
        return {}
    item, said = min(open_items, key=lambda each: each[1])
    return {"not_yet": {"item": item, "said": said.isoformat()}}


def _date(watch: Watch, instant: datetime) -> date:
    return local(instant, watch.clinic_zone).date()

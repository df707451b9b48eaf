"""Decide whom to tell of the alerts that wait, and put the notices down."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from ..domain.alert.routing import Group, Standing, Step, is_due, step_after
from ..storage import clinics, notices, telling
from ..storage.models import Staff, StaffSubscription
from ..storage.telling import House, Waiting
from .each_apart import each_apart

NO_WAY = "no channel reaches this person"


def plan_notices(db: Session, now: datetime, channels: Collection[str]) -> int:
    """Put down who is told of which alert now, in every clinic; the number of new notices.

    Whoever no channel reaches is noted and passed over at once: the next person is told in the
    same pass. A house without any channel tells nobody, and its pages say so.
    """
    if not channels:
        return 0
    ids = [clinic.id for clinic in clinics.all_clinics(db)]
    return each_apart(db, "tell staff of clinic", ids, lambda k: _of_clinic(db, k, now, channels))


def _of_clinic(db: Session, clinic_id: uuid.UUID, now: datetime, channels: Collection[str]) -> int:
    there = telling.house(db, clinic_id, now)
    due = [
        each
        for each in telling.waiting(db, there, now)
        if is_due(
            each.standing, each.told, there.setting(each.alert.kind), there.whole, there.week, now
        )
    ]
    if not due:
        return 0
    ways = Ways(there, notices.live_subscriptions(db, clinic_id), channels)
    rows = [row for each in due for row in _rows(there, ways, each, now)]
    return notices.make(db, rows)


class Ways:
    """By which channels each person of a clinic can be told."""

    def __init__(
        self,
        there: House,
        subscriptions: Mapping[uuid.UUID, Sequence[StaffSubscription]],
        channels: Collection[str],
    ) -> None:
        self._there, self._subscriptions, self._channels = there, subscriptions, channels
        self.hook = "webhook" in channels

    def of(self, who: str) -> Sequence[Mapping[str, Any]]:
        """A row's channel and address for each way to this person."""
        person: Staff = self._there.members[who]
        found: list[dict[str, Any]] = []
        if "push" in self._channels:
            kept = self._subscriptions.get(person.id, ())
            found += [{"channel": "push", "subscription_id": each.id} for each in kept]
        if "email" in self._channels and person.email:
            found.append({"channel": "email", "subscription_id": None})
        return found


def _rows(there: House, ways: Ways, each: Waiting, now: datetime) -> Iterable[dict[str, Any]]:
    """The notices of one alert in this pass: person by person until somebody is reached."""
    setting, duty = there.setting(each.alert.kind), there.duty(now)
    people = there.people(each.alert.kind, each.therapist, each.taken_by)
    told, rows = set(each.told.people), list[dict[str, Any]]()
    rung = ways.hook and there.whole.webhook_wakes
    while step := step_after(told, each.standing, people, setting, duty):
        told |= set(step.people)
        reached = [way for who in step.people for way in _to(ways, each, step, who, now)]
        rows += reached
        if rung or any(row["channel"] != "none" for row in reached):
            break
    if rows and ways.hook:
        rows.append(_row(each, rows[-1]["why"], rows[-1]["staff_id"], _HOOK, now))
    return rows


_HOOK: Mapping[str, Any] = {"channel": "webhook", "subscription_id": None}
_NONE: Mapping[str, Any] = {
    "channel": "none", "subscription_id": None, "state": "failed", "outcome": NO_WAY,
}  # fmt: skip


def _to(ways: Ways, each: Waiting, step: Step, who: str, now: datetime) -> list[dict[str, Any]]:
    staff_id = uuid.UUID(who)
    return [_row(each, step.why, staff_id, way, now) for way in ways.of(who) or (_NONE,)]


def _row(
    each: Waiting, why: str, staff_id: uuid.UUID, way: Mapping[str, Any], now: datetime
) -> dict[str, Any]:
    """A notice's row; its key makes the same one of two passes at once."""
    alert = each.alert
    address = way["subscription_id"] or way["channel"]
    return {
        "at": now, "clinic_id": alert.clinic_id, "alert_id": alert.id, "staff_id": staff_id,
        "why": why, "level": alert.level, "alerts": [], "due_at": now, "state": "due",
        "outcome": None, "tries": 0, "lease_until": None,
        "key": f"{alert.id}:{each.standing.since.isoformat()}:{staff_id}:{address}",
    } | dict(way)  # fmt: skip


def first_told(there: House, kind: str, level: str, therapist: str | None, now: datetime) -> Group:
    """Who hears of such an alert first; of a 'this week' kind in the digest."""
    standing = Standing(kind, level, False, now, now)
    step = step_after(
        (), standing, there.people(kind, therapist), there.setting(kind), there.duty(now)
    )
    return step.people if step else ()

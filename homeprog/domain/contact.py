"""Contact: words from a phone, and what they prove."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

ContactKind = Literal["upload", "plan", "ping", "receipt", "worker"]

IN_USE = timedelta(days=7)  # a phone a bout came from this long before a slot's end must speak


@dataclass(frozen=True, slots=True)
class ContactMark:
    """One word from a phone. `at` is the server's time of receipt."""

    device: str
    at: datetime
    outbox_empty: bool


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone of the patient, paired over [paired_at, ended_at)."""

    device: str
    paired_at: datetime
    ended_at: datetime | None = None

    def paired(self, instant: datetime) -> bool:
        """Whether it is paired at `instant`."""
        return self.paired_at <= instant and (self.ended_at is None or instant < self.ended_at)


@dataclass(frozen=True, slots=True)
class Contacts:
    """What the phones of one patient had said by one `now`; made by `contacts`."""

    linked: Mapping[str, datetime]  # device -> when it was paired, also one no longer so
    paired: frozenset[str]  # devices still paired
    empty: Mapping[str, datetime]  # device -> its latest word that the outbox is empty
    receipts: Mapping[str, Sequence[datetime]]  # device -> when its bouts came, ascending

    def since(self, end: datetime, after: datetime) -> bool:
        """Whether there was contact after `after`, for a slot that ended at `end`.

        Each phone in use has said 'outbox empty' later than `after`; where none was in use, any
        has that was linked before `end` (docs/METHODS.md, 'Contact since').
        """
        needed = self.in_use(end)
        if not needed:
            return any(self._spoke(each, after) for each, at in self.linked.items() if at < end)
        return all(self._spoke(each, after) for each in needed)

    def may_tell(self, end: datetime) -> bool:
        """Whether some phone was linked before `end`: else no word ever tells of that slot."""
        return any(at < end for at in self.linked.values())

    def in_use(self, end: datetime) -> frozenset[str]:
        """Phones still paired that a bout was received from in the 7 days before `end`."""
        return frozenset(device for device in self.paired if self._received(device, end))

    def _spoke(self, device: str, after: datetime) -> bool:
        return device in self.empty and self.empty[device] > after

    def _received(self, device: str, end: datetime) -> bool:
        times = self.receipts.get(device, ())
        return bisect_left(times, end - IN_USE) < bisect_left(times, end)


def contacts(
    phones: Iterable[Phone],
    marks: Iterable[ContactMark],
    receipts: Iterable[tuple[str, datetime]],
    now: datetime,
) -> Contacts:
    """Gather what was known at `now`; later rows are not seen.

    `receipts` are (device, received_at) of the patient's bouts, of any exercise and course, from
    at least 7 days before the first slot to be judged ends. All times are the server's.
    """
    known = tuple(phones)
    return Contacts(
        {phone.device: phone.paired_at for phone in known},
        frozenset(phone.device for phone in known if phone.paired(now)),
        _latest_empty(marks, now),
        _by_device(receipts, now),
    )


def _latest_empty(marks: Iterable[ContactMark], now: datetime) -> dict[str, datetime]:
    latest: dict[str, datetime] = {}
    for mark in marks:
        if mark.outbox_empty and mark.at <= now:
            latest[mark.device] = max(mark.at, latest.get(mark.device, mark.at))
    return latest


def _by_device(
    receipts: Iterable[tuple[str, datetime]], now: datetime
) -> dict[str, list[datetime]]:
    times: dict[str, list[datetime]] = {}
    for device, at in sorted(receipts):
        if at <= now:
            times.setdefault(device, []).append(at)
    return times

"""From what is in force to slots (docs/METHODS.md, 'Slots')."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime

from .course_day import DAY, MOMENT, day_in_progress, last_woken, waking
from .grid import Window, windows
from .setting import Asked, Setting, Slot

LONG_AGO = datetime.min.replace(tzinfo=UTC)


@dataclass
class _Laid:
    """What has been laid out so far; the past in it is never laid out again."""

    slots: list[Slot] = field(default_factory=list)
    number: Counter[tuple[str, date]] = field(default_factory=Counter)
    busy_until: dict[str, datetime] = field(default_factory=dict)  # end of the latest slot
    known: set[str] = field(default_factory=set)  # exercises that have been in force before
    begun: date | None = None  # the day in progress at the change; earlier dates get no more

    def add(self, slot: Slot) -> None:
        self.slots.append(slot)
        self.number[slot.exercise, slot.date] += 1
        self.busy_until[slot.exercise] = slot.end


def lay_out(
    settings: Sequence[Setting], until: datetime, since: datetime | None = None
) -> tuple[Slot, ...]:
    """All slots with start < until (and end > since), sorted by start and exercise.

    `settings` ascend by `at`, each describing completely what is in force until the next.
    A later `until`, or one more setting at the end, never changes a slot that began before it.
    Of several settings at one instant the last counts.
    """
    laid = _Laid()
    for setting, end in _spells(settings, until):
        for day in _days(setting, end, since, laid.begun):
            for asked in setting.asked:
                _lay_day(laid, setting, asked, day, end)
        laid.known |= _in_force(setting)
        laid.begun = day_in_progress(setting, end, laid.begun)
    wanted = (slot for slot in laid.slots if since is None or slot.end > since)
    return tuple(sorted(wanted, key=lambda slot: (slot.start, slot.exercise)))


def cut_slots(
    settings: Sequence[Setting], slots: Iterable[Slot]
) -> dict[tuple[str, datetime], datetime]:
    """Slot key -> the instant at which a change excused the slot while it was in progress.

    A change excuses a slot when it no longer asks for the exercise, or lists it in `limits`.
    """
    cuts: dict[tuple[str, datetime], datetime] = {}
    changes = _one_an_instant(settings)
    for slot in slots:
        for change in changes:
            if slot.start < change.at < slot.end and _takes_back(change, slot.exercise):
                cuts[slot.key] = change.at
                break
    return cuts


def _takes_back(change: Setting, exercise: str) -> bool:
    return exercise in change.limits or exercise not in _in_force(change)


def _in_force(setting: Setting) -> set[str]:
    return set() if setting.phase is None else {asked.exercise for asked in setting.asked}


def _one_an_instant(settings: Sequence[Setting]) -> list[Setting]:
    """One setting an instant: the last one said, with the limits of all of them."""
    kept: list[Setting] = []
    for setting in settings:
        if kept and kept[-1].at == setting.at:
            setting = replace(setting, limits=setting.limits | kept.pop().limits)
        kept.append(setting)
    return kept


def _spells(settings: Sequence[Setting], until: datetime) -> Iterator[tuple[Setting, datetime]]:
    """Each setting with the instant at which it gives way, or `until` if that is earlier."""
    kept = [setting for setting in _one_an_instant(settings) if setting.at < until]
    ends = [setting.at for setting in kept[1:]] + [until]
    return zip(kept, ends, strict=False)


def _days(
    setting: Setting, end: datetime, since: datetime | None, begun: date | None
) -> Iterator[date]:
    """The course days a setting lays out, but for those that are wholly before `since`.

    Its last day is always laid out: the change that follows counts what it holds.
    """
    day = last_woken(setting, setting.at)
    if begun is not None:
        day = max(day, begun)
    if since is not None:
        day = max(day, last_woken(setting, min(since, end - MOMENT)))
    while waking(setting, day) < end:
        yield day
        day += DAY


def _lay_day(laid: _Laid, setting: Setting, asked: Asked, day: date, end: datetime) -> None:
    """Add one exercise's windows of one day which begin under this setting, before `end`."""
    if setting.phase is None:
        return
    whole = windows(asked, setting, day)
    room = len(whole) - laid.number[asked.exercise, day]
    for start, finish in _kept(laid, setting, asked.exercise, whole)[: max(0, room)]:
        if start < end:
            laid.add(
                Slot(
                    asked.exercise, setting.phase, setting.revision, start, finish, day, asked.dose
                )
            )


def _kept(laid: _Laid, setting: Setting, exercise: str, whole: Sequence[Window]) -> list[Window]:
    """The windows that begin at or after the change and the end of the slot in progress.

    Of an exercise new to the course the window the change falls in is kept from there on,
    if at least half of it is left.
    """
    earliest = max(setting.at, laid.busy_until.get(exercise, LONG_AGO))
    kept = [window for window in whole if window[0] >= earliest]
    if exercise in laid.known:
        return kept
    at = setting.at
    fallen_in = [(start, end) for start, end in whole if start < at < end]
    return [(at, end) for start, end in fallen_in if 2 * (end - at) >= end - start] + kept

"""Credit: which bout counts for which slot, and how much (docs/METHODS.md, 'Credit')."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import TypeVar

from ..bout import Bout
from ..timetable import Slot
from .joining import join
from .line import Cutter, Line, credit_of, lay
from .rules import DEFAULT_RULES, Key, Rules

Thing = TypeVar("Thing", Slot, Bout)

__all__ = ["DEFAULT_RULES", "Credit", "Key", "Rules", "SlotCredit", "credit"]


@dataclass(frozen=True, slots=True)
class SlotCredit:
    """What one slot has, in the unit of its dose, each at most the dose."""

    timely: int  # c: by timely bouts alone
    told: int  # c': by all bouts, later ones as told
    on_time: int  # c by bouts done inside the slot; fill-ins are not
    on_time_told: int  # c' by bouts done inside the slot
    bouts: tuple[str, ...]  # ids of all bouts given to it, in order of time


@dataclass(frozen=True, slots=True)
class Credit:
    """What every bout seen came to."""

    slots: Mapping[Key, SlotCredit]  # every slot asked about
    place: Mapping[str, Key | None]  # each bout that counts -> its slot, None for no slot
    joined: Mapping[str, str]  # each bout that does not count -> the one that does for its go
    excess: Mapping[str, int]  # each bout that counts -> what it brings beyond the dose
    excused: frozenset[Key]  # as given: earned nothing in the cuts

    def no_slot(self) -> frozenset[str]:
        """Ids of bouts that count and lie in no slot."""
        return frozenset(bout for bout, key in self.place.items() if key is None)


def credit(
    slots: Iterable[Slot],
    bouts: Iterable[Bout],
    excused: Collection[Key],
    now: datetime,
    rules: Rules = DEFAULT_RULES,
    apart: Collection[str] = (),
) -> Credit:
    """Give each bout received by `now` to a slot of its exercise, or to none.

    `slots` may be of several exercises and days; give the days on either side with the one asked
    about, since an edge may be shared. `apart` are ids of bouts that staff have split from the go
    they were joined to. Bouts that another supersedes must not be among `bouts`.
    """
    seen = [bout for bout in bouts if bout.received_at <= now]
    by_slot = _by_exercise(slots)
    by_bout = _by_exercise(seen)
    book = _Book({}, {}, {}, {}, frozenset(excused), rules)
    for exercise in {*by_slot, *by_bout}:
        line = lay(by_slot.get(exercise, ()))
        book.enter(line, by_bout.get(exercise, []), apart)
    return Credit(book.slots, book.place, book.joined, book.excess, book.excused)


def _by_exercise(things: Iterable[Thing]) -> dict[str, list[Thing]]:
    groups: dict[str, list[Thing]] = {}
    for thing in things:
        groups.setdefault(thing.exercise, []).append(thing)
    return groups


@dataclass(frozen=True, slots=True)
class _Book:
    """The result while it is being written, one exercise after the other."""

    slots: dict[Key, SlotCredit]
    place: dict[str, Key | None]
    joined: dict[str, str]
    excess: dict[str, int]
    excused: frozenset[Key]
    rules: Rules

    def enter(self, line: Line, bouts: Sequence[Bout], apart: Collection[str]) -> None:
        """Credit the bouts of one exercise."""
        joined = join(line, bouts, apart, self.rules)
        self.joined.update(joined)
        counting = [bout for bout in bouts if bout.id not in joined]
        given = _given(line, counting, self.excused, self.rules)
        for number, slot in enumerate(line.places):
            here = sorted(given.get(number, ()), key=_in_time)
            if slot is None:
                self._leave_out(here)
            else:
                self._put(slot, here)

    def _put(self, slot: Slot, bouts: Sequence[Bout]) -> None:
        inside = [bout for bout in bouts if _inside(bout, slot)]
        ids = tuple([bout.id for bout in bouts])
        key, by_all = slot.key, credit_of(slot, bouts, self.rules)
        on_time = by_all if len(inside) == len(bouts) else credit_of(slot, inside, self.rules)
        self.slots[key] = SlotCredit(*by_all, *on_time, ids)
        self.place.update(dict.fromkeys(ids, key))
        room = slot.dose.amount
        for bout in bouts:
            beyond = max(0, bout.amount - room)
            self.excess[bout.id] = 0 if bout.excess_exempt else beyond
            room = max(0, room - bout.amount)

    def _leave_out(self, bouts: Iterable[Bout]) -> None:
        for bout in bouts:
            self.place[bout.id] = None
            self.excess[bout.id] = 0 if bout.excess_exempt else bout.amount


def _given(
    line: Line, bouts: Iterable[Bout], excused: Collection[Key], rules: Rules
) -> dict[int, list[Bout]]:
    """The bouts of each place: fill-ins where they say, the others as the best cuts have it."""
    given: dict[int, list[Bout]] = {}
    moving: list[Bout] = []
    for bout in sorted(bouts, key=_in_time):
        if bout.fill_in:
            given.setdefault(line.own(bout), []).append(bout)
        else:
            moving.append(bout)
    filled = {place: tuple(here) for place, here in given.items()}
    cuts = Cutter(line, moving, filled, excused, rules).cuts()
    for place, (start, end) in enumerate(pairwise([0, *cuts, len(moving)])):
        given.setdefault(place, []).extend(moving[start:end])
    return given


def _inside(bout: Bout, slot: Slot) -> bool:
    return not bout.fill_in and slot.start <= bout.at < slot.end


def _in_time(bout: Bout) -> tuple[datetime, str]:
    return (bout.at, bout.id)

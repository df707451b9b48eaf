"""The slots of one exercise as a row of places along the time, and the cut at each edge."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from ..bout import Bout
from ..timetable import Slot
from .rules import Key, Rules

Worth = tuple[int, int, int]  # credit by timely bouts, credit by all, bouts left at home
Best = dict[int, tuple[Worth, int]]  # first bout of a place -> (worth from here on, next cut)


@dataclass(frozen=True, slots=True)
class Line:
    """Places in order of time: slots, and the gaps (None) before, between and after them."""

    places: tuple[Slot | None, ...]
    edges: tuple[datetime, ...]  # edges[k] parts places[k] from places[k + 1]

    def home(self, instant: datetime) -> int:
        """The number of the place `instant` lies in."""
        return bisect_right(self.edges, instant)

    def own(self, bout: Bout) -> int:
        """A bout's own place before the cuts; of a fill-in, that which now holds its start."""
        return self.home(bout.slot_start or bout.at)


def lay(slots: Iterable[Slot]) -> Line:
    """Lay the slots of one exercise, which do not overlap, in order of time."""
    places: list[Slot | None] = [None]
    edges: list[datetime] = []
    for slot in sorted(slots, key=lambda slot: slot.start):
        last = places[-1]
        if last is not None and last.end < slot.start:
            edges.append(last.end)
            places.append(None)
        edges.append(slot.start)
        places.append(slot)
    if (last := places[-1]) is not None:
        edges.append(last.end)
        places.append(None)
    return Line(tuple(places), tuple(edges))


@dataclass(frozen=True, slots=True)
class Cutter:
    """Finds the cuts of one line. `bouts` are no fill-ins, in order of time, ties by id."""

    line: Line
    bouts: Sequence[Bout]
    filled: Mapping[int, Sequence[Bout]]  # place -> its fill-ins, which no cut moves
    excused: Collection[Key]
    rules: Rules

    def cuts(self) -> list[int]:
        """The best cuts: cut k is the number of bouts that go left of edge k.

        A dynamic programme from the last place to the first: what the places from k on are worth
        depends on the earlier ones only through the first bout left to them. Equal worth: the
        earlier cut, the first edge deciding first.
        """
        spans = [self._span(edge) for edge in range(len(self.line.edges))]
        whole = len(self.bouts)
        ends = [*spans, range(whole, whole + 1)]  # the last place takes what is left
        table: list[Best] = []
        after: Best = {whole: ((0, 0, 0), whole)}
        for place in reversed(range(len(self.line.places))):
            starts = spans[place - 1] if place else range(1)
            after = self._step(place, starts, ends[place], after)
            table.append(after)
        return _follow(table[::-1])[:-1]

    def _span(self, edge: int) -> range:
        """Where the cut at an edge may lie; a bout in a slot never leaves it for a gap."""
        left, right = self.line.places[edge], self.line.places[edge + 1]
        at = self.line.edges[edge]
        lengths = [slot.end - slot.start for slot in (left, right) if slot]
        grace = min(self.rules.grace, min(lengths) / self.rules.grace_part)
        first = bisect_left(self.bouts, at - grace if right else at, key=_at)
        last = (
            bisect_right(self.bouts, at + grace, key=_at)
            if left
            else bisect_left(self.bouts, at, key=_at)
        )
        return range(first, last + 1)

    def _step(self, place: int, starts: range, ends: range, after: Best) -> Best:
        """The best next cut of one place for each first bout it may have."""
        best: Best = {}
        for start in starts:
            for end in ends:
                if end < start or end not in after:
                    continue
                worth = _plus(self._worth(place, start, end), after[end][0])
                if start not in best or worth > best[start][0]:
                    best[start] = (worth, end)
        return best

    def _worth(self, place: int, start: int, end: int) -> Worth:
        """What bouts[start:end] are worth in a place."""
        here = self.bouts[start:end]
        at_home = sum(self.line.home(bout.at) == place for bout in here)
        slot = self.line.places[place]
        if slot is None or slot.key in self.excused:
            return (0, 0, at_home)
        timely, told = credit_of(slot, [*here, *self.filled.get(place, ())], self.rules)
        return (timely, told, at_home)


def credit_of(slot: Slot, bouts: Iterable[Bout], rules: Rules) -> tuple[int, int]:
    """c and c' of a slot: min(dose, sum of its timely bouts), min(dose, sum of all)."""
    timely = told = 0
    for bout in bouts:
        told += bout.amount
        timely += bout.amount if rules.timely_for(bout, slot) else 0
    return (min(slot.dose.amount, timely), min(slot.dose.amount, told))


def _at(bout: Bout) -> datetime:
    return bout.at


def _plus(one: Worth, other: Worth) -> Worth:
    return (one[0] + other[0], one[1] + other[1], one[2] + other[2])


def _follow(table: Sequence[Best]) -> list[int]:
    """The cuts along the best way from the first place."""
    cuts: list[int] = []
    start = 0
    for best in table:
        start = best[start][1]
        cuts.append(start)
    return cuts

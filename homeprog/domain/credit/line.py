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
        times = [bout.at for bout in self.bouts]
        spans = [self._span(edge, times) for edge in range(len(self.line.edges))]
        whole = len(self.bouts)
        ends = [*spans, range(whole, whole + 1)]  # the last place takes what is left
        table: list[Best] = []
        after: Best = {whole: ((0, 0, 0), whole)}
        for place in reversed(range(len(self.line.places))):
            starts = spans[place - 1] if place else range(1)
            after = self._step(place, starts, ends[place], after)
            table.append(after)
        return _follow(table[::-1])[:-1]

    def _span(self, edge: int, times: Sequence[datetime]) -> range:
        """Where the cut at an edge may lie; a bout in a slot never leaves it for a gap."""
        left, right = self.line.places[edge], self.line.places[edge + 1]
        at = self.line.edges[edge]
        lengths = [slot.end - slot.start for slot in (left, right) if slot]
        grace = min(self.rules.grace, min(lengths) / self.rules.grace_part)
        first = bisect_left(times, at - grace if right else at)
        last = bisect_right(times, at + grace) if left else bisect_left(times, at)
        return range(first, last + 1)

    def _step(self, place: int, starts: range, ends: range, after: Best) -> Best:
        """The best next cut of one place for each first bout it may have."""
        if len(starts) == len(ends) == 1:  # no choice: worth the same whatever the other cuts
            return {starts[0]: (after[ends[0]][0], ends[0])}
        sums = self._sums(place, starts[0], ends[-1])
        best: Best = {}
        for start in starts:
            for end in ends:
                if end < start or end not in after:
                    continue
                worth = _plus(self._worth(place, sums[start], sums[end]), after[end][0])
                if start not in best or worth > best[start][0]:
                    best[start] = (worth, end)
        return best

    def _sums(self, place: int, first: int, last: int) -> dict[int, Worth]:
        """Amounts by timely bouts, by all, and bouts at home, of bouts[first:end] by end.

        The fill-ins of the place are in none of them.
        """
        slot = self.line.places[place]
        timely = told = at_home = 0
        sums = {first: (0, 0, 0)}
        for number, bout in enumerate(self.bouts[first:last], first + 1):
            told += bout.amount
            timely += bout.amount if slot and self.rules.timely_for(bout, slot) else 0
            at_home += self.line.home(bout.at) == place
            sums[number] = (timely, told, at_home)
        return sums

    def _worth(self, place: int, before: Worth, until: Worth) -> Worth:
        """What the bouts between two sums are worth in a place."""
        timely, told, at_home = (b - a for a, b in zip(before, until, strict=True))
        slot = self.line.places[place]
        if slot is None or slot.key in self.excused:
            return (0, 0, at_home)
        for bout in self.filled.get(place, ()):
            told += bout.amount
            timely += bout.amount if self.rules.timely_for(bout, slot) else 0
        return (min(slot.dose.amount, timely), min(slot.dose.amount, told), at_home)


def credit_of(slot: Slot, bouts: Iterable[Bout], rules: Rules) -> tuple[int, int]:
    """c and c' of a slot: min(dose, sum of its timely bouts), min(dose, sum of all)."""
    timely = told = 0
    for bout in bouts:
        told += bout.amount
        timely += bout.amount if rules.timely_for(bout, slot) else 0
    return (min(slot.dose.amount, timely), min(slot.dose.amount, told))


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

"""The summary of one course day and exercise, in exact whole numbers that can be added."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from typing import Any

from ..bout import Bout
from ..credit import DEFAULT_RULES, Rules
from ..timetable import Slot
from .standing import Judgement

NO_PAIN_ENTRIES = (0,) * 11  # one count for each answer, 0 to 10


@dataclass(frozen=True, slots=True)
class DaySummary:
    """What one course day of one exercise came to, or, added up, a window of days.

    Doses and credit are in the exercise's unit. Slots are counted once past their end + 45 min;
    only `ahead` counts others.
    """

    logged: int = 0  # slots, by standing
    part: int = 0
    later: int = 0
    not_logged: int = 0
    unknown: int = 0
    excused: int = 0  # 'not asked for'
    ahead: int = 0  # not past yet and not excused, whatever is logged in them already
    known_dose: int = 0  # D: doses of known slots
    unknown_dose: int = 0  # U: doses of unknown slots
    timely: int = 0  # sum of c
    told: int = 0  # sum of c'
    missing: int = 0  # W: what is missing from the dose in slots without contact since
    on_time: int = 0  # sum of c by bouts done inside their slot
    on_time_told: int = 0  # sum of c' by bouts done inside their slot
    on_time_missing: int = 0  # W reckoned with on_time_told
    excess: int = 0  # beyond the dose, or in no slot, past or not
    days: int = 0  # days with a slot that counts
    days_known: int = 0  # of these, days with a known slot
    days_lowest: int = 0  # days whose lowest figure reaches 80 %
    days_shown: int = 0  # days whose shown figure does
    days_highest: int = 0  # days whose highest figure does
    pain_asked: int = 0  # goes at which pain was asked
    pain: tuple[int, ...] = NO_PAIN_ENTRIES  # number of answers of 0, 1, ... 10

    @property
    def slots(self) -> int:
        """Slots of the figures: asked for and past ('of 84')."""
        return self.known + self.unknown

    @property
    def known(self) -> int:
        """n of the monitor: known slots."""
        return self.reached + self.part + self.not_logged

    @property
    def reached(self) -> int:
        """x of the monitor: slots logged or later."""
        return self.logged + self.later

    @property
    def asked_dose(self) -> int:
        """D + U: the dose asked in slots of the figures."""
        return self.known_dose + self.unknown_dose

    @property
    def pain_answers(self) -> int:
        """How many entries gave a pain."""
        return sum(self.pain)

    @property
    def pain_lowest(self) -> int | None:
        return min(self._pains(), default=None)

    @property
    def pain_highest(self) -> int | None:
        return max(self._pains(), default=None)

    @property
    def pain_median_doubled(self) -> int | None:
        """Twice the median of the answers, a whole number; None without an answer."""
        answers = [pain for pain in range(len(self.pain)) for _ in range(self.pain[pain])]
        if not answers:
            return None
        return answers[(len(answers) - 1) // 2] + answers[len(answers) // 2]

    def _pains(self) -> Iterator[int]:
        return (pain for pain, count in enumerate(self.pain) if count)

    def as_row(self) -> dict[str, Any]:
        """Its fields by name, pain as a list: what a stored row or JSON holds."""
        return {name: getattr(self, name) for name in NAMES} | {"pain": list(self.pain)}


ZERO = DaySummary()
NAMES = tuple(field.name for field in fields(DaySummary))


def from_row(row: dict[str, Any]) -> DaySummary:
    """The summary that `as_row` wrote; other names in `row` are left alone."""
    values = {name: row[name] for name in NAMES}
    return DaySummary(**{**values, "pain": tuple(row["pain"])})


def add(one: DaySummary, other: DaySummary) -> DaySummary:
    """Two summaries of different days of one exercise (or, for pain alone, of two exercises)."""
    sums: dict[str, Any] = {
        name: getattr(one, name) + getattr(other, name) for name in NAMES if name != "pain"
    }
    pain = tuple(a + b for a, b in zip(one.pain, other.pain, strict=True))
    return DaySummary(**sums, pain=pain)


def total(summaries: Iterable[DaySummary]) -> DaySummary:
    """The sum of any number of summaries; ZERO of none."""
    result = ZERO
    for summary in summaries:
        result = add(result, summary)
    return result


def day_figures(
    exercise: str,
    slots: Iterable[Slot],
    judged: Judgement,
    bouts: Iterable[Bout],
    span: tuple[datetime, datetime],
    rules: Rules = DEFAULT_RULES,
) -> DaySummary:
    """The summary of one exercise over one course day, `span` from its waking to the next.

    `slots` are those of the day and exercise; a bout belongs to the day of the slot it was given
    to, one in no slot to the day it was done in (a fill-in: the day of the start it names).
    `bouts` may hold others too. `judged` must know the slots, the bouts and the days on either
    side.
    """
    slots, bouts = tuple(slots), tuple(bouts)
    mine = _of_day(exercise, slots, judged, bouts, span)
    asked, pain = _pain(mine, _joined(judged, bouts))
    excess = sum(judged.credit.excess[bout.id] for bout in mine)
    day = _of_slots(slots, judged)
    covers = _coverage(day, rules) if day.slots else {}
    return replace(day, excess=excess, pain_asked=asked, pain=pain, **covers)


def _of_slots(slots: Iterable[Slot], judged: Judgement) -> DaySummary:
    sums: dict[str, Any] = {}
    for slot in slots:
        for name, count in _of_slot(slot, judged):
            sums[name] = sums.get(name, 0) + count
    return DaySummary(**sums)


def _of_slot(slot: Slot, judged: Judgement) -> tuple[tuple[str, int], ...]:
    """What one slot adds to its day's summary."""
    key = slot.key
    standing = judged.standing[key]
    if key not in judged.past:
        return () if standing == "excused" else (("ahead", 1),)
    if standing == "excused":
        return (("excused", 1),)
    has = judged.credit.slots[key]
    dose = slot.dose.amount
    sums = (
        (standing, 1),
        ("unknown_dose" if standing == "unknown" else "known_dose", dose),
        ("timely", has.timely),
        ("told", has.told),
        ("on_time", has.on_time),
        ("on_time_told", has.on_time_told),
    )
    if key in judged.contact:
        return sums
    return (*sums, ("missing", dose - has.told), ("on_time_missing", dose - has.on_time_told))


def _coverage(day: DaySummary, rules: Rules) -> dict[str, Any]:
    """Which of the day's three figures reach 80 %, as 0 or 1."""
    known = day.known > 0
    return {
        "days": 1,
        "days_known": int(known),
        "days_lowest": int(rules.reached(day.timely, day.asked_dose)),
        "days_shown": int(known and rules.reached(day.told, day.known_dose)),
        "days_highest": int(rules.reached(day.told + day.missing, day.asked_dose)),
    }


def _of_day(
    exercise: str,
    slots: Iterable[Slot],
    judged: Judgement,
    bouts: Iterable[Bout],
    span: tuple[datetime, datetime],
) -> list[Bout]:
    """The day's bouts that count, in its slots or in none."""
    keys = {slot.key for slot in slots}
    place = judged.credit.place
    first, end = span
    return [
        bout
        for bout in bouts
        if bout.exercise == exercise and bout.id in place
        if place[bout.id] in keys
        or (place[bout.id] is None and first <= (bout.slot_start or bout.at) < end)
    ]


def _joined(judged: Judgement, bouts: Iterable[Bout]) -> dict[str, list[Bout]]:
    """The bouts that do not count, by the id of the one that does."""
    others: dict[str, list[Bout]] = {}
    for bout in bouts:
        if (counts := judged.credit.joined.get(bout.id)) is not None:
            others.setdefault(counts, []).append(bout)
    return others


def _pain(
    mine: Iterable[Bout], others: Mapping[str, Sequence[Bout]]
) -> tuple[int, tuple[int, ...]]:
    """Goes at which pain was asked, and how many gave each answer.

    One answer a go: that of the bout that counts, else the worst of the others.
    """
    asked = 0
    counts = list(NO_PAIN_ENTRIES)
    for bout in mine:
        go = [bout, *others.get(bout.id, ())]
        asked += any(each.pain_asked for each in go)
        answers = [each.pain for each in go if each.pain is not None]
        if answers:
            counts[max(answers) if bout.pain is None else bout.pain] += 1
    return asked, tuple(counts)

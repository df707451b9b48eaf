"""Assess a course: give its bouts to slots and sum up the days that were touched.

A day is touched by what was logged or changed in it, by a word from a phone while a slot of it
still waits for one, and by a slot of it passing end + 45 min. What staff change is summed up at
once; an upload or a word leaves a touch, which the minute's job finds. Summing up all days from
the raw rows with the same `now` gives the same summaries (`rebuild`).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

from sqlalchemy.orm import Session

from ..domain.adherence import Judgement, day_figures, judge
from ..domain.bout import Bout
from ..domain.contact import Contacts
from ..domain.credit import Rules
from ..domain.hold import Hold
from ..domain.timetable import Setting, Slot, course_day, cut_slots, lay_out
from ..domain.timetable.span import day_start
from ..storage.bouts import bouts_of
from ..storage.contacts import contacts_of
from ..storage.models import Course
from ..storage.rules import rules_of
from ..storage.summaries import Day, Key, keep, lock_course, open_days, wake
from ..storage.timelines import holds_of, revision_at, settings_of
from ..storage.touches import take_touches

ONE = timedelta(days=1)
REACH = timedelta(hours=1)  # further than a bout can move over an edge, or join another


def assess_course(
    db: Session, course: Course, now: datetime, since: datetime | None = None
) -> bool:
    """Sum up anew the days touched: from `since` on, the day in progress, and those that wait.

    Pass the earliest instant that what was logged or changed bears on; None as time passes and
    for what phones have touched, which is known. Whether they had. Flushes.
    """
    lock_course(db, course)
    touched = take_touches(db, course.id, now)
    since = min((at for at in (since, touched) if at is not None), default=None)
    settings = settings_of(db, course, now)
    today = course_day(settings, now)
    known = open_days(db, course.id, now)
    # From the last day summed up on: the jobs may have stood still for days.
    days = {day for day in known if day <= today} | {today}
    days |= set(_dates(max(known, default=_begun(settings, today)), today))
    if since is not None:
        first = course_day(settings, max(since, settings[0].at))
        days |= set(_dates(first, today))
    holds, rules = holds_of(db, course, now), rules_of(db, course.clinic_id, now)
    timeline = _Timeline(course, settings, holds, rules, today, now)
    for first, last in _runs(days):
        timeline.assess(db, first, last)
    if (at := timeline.next_day()) is not None:
        wake(db, course.id, at)
    return touched is not None


def _begun(settings: Sequence[Setting], today: date) -> date:
    """The first day in which anything was asked for, in a course without any summary."""
    return min((course_day(settings, each.at) for each in settings if each.asked), default=today)


def assess_whole_course(db: Session, course: Course, now: datetime) -> None:
    """Sum up every day of the course anew, from its raw rows."""
    opening = settings_of(db, course, now)[0].at
    assess_course(db, course, now, since=opening)


@dataclass(frozen=True, slots=True)
class _Timeline:
    """What is known of a course's slots at `now`."""

    course: Course
    settings: tuple[Setting, ...]
    holds: tuple[Hold, ...]
    rules: Rules
    today: date
    now: datetime

    def assess(self, db: Session, first: date, last: date) -> None:
        """Sum up the days [first, last], and those whose bouts may move over into them."""
        stretch = self._stretch(db, first, last)
        slots, bouts = stretch.slots, stretch.bouts
        closing = min((slot.end for slot in slots), default=self.now)
        heard = contacts_of(db, self.course.patient_id, closing, self.now)
        judged = judge(
            slots, bouts, self.holds, cut_slots(self.settings, slots), heard,
            self.now, self.rules, stretch.apart,
        )  # fmt: skip
        days = [day for day in _dates(stretch.first, stretch.last) if day <= self.today]
        fresh = dict(self._sum_up(days, stretch, judged, heard))
        keep(db, self.course, (days[0], days[-1]), fresh, self.now)

    def next_day(self) -> datetime | None:
        """When the next course day begins; None where nothing will be asked for in it."""
        to_come = [s for s in self.settings if s.at > self.now or s is self._current()]
        if not any(s.phase is not None and s.asked for s in to_come):
            return None
        return day_start(self.settings, self.today + ONE)

    def _current(self) -> Setting:
        begun = [s for s in self.settings if s.at <= self.now]
        return begun[-1] if begun else self.settings[0]

    def _stretch(self, db: Session, first: date, last: date) -> _Stretch:
        """The days with every bout and slot that can bear on them.

        A night in which nothing is due or logged within an hour of its ends parts the days on
        either side; where there is none, the days before or after belong to the stretch.
        """
        while True:
            stretch = self._read(db, first, last)
            earlier = stretch.reaches_before and stretch.since > self.settings[0].at
            later = stretch.reaches_after and last <= self.today
            if not earlier and not later:
                return stretch
            first -= ONE * earlier
            last += ONE * later

    def _read(self, db: Session, first: date, last: date) -> _Stretch:
        since = day_start(self.settings, first)
        until = day_start(self.settings, last + ONE)
        slots = lay_out(self.settings, until + REACH, since - REACH)
        bouts, apart = bouts_of(
            db, self.course.id, since - REACH, until + REACH, self.now, self._revision
        )
        return _Stretch(first, last, since, until, slots, bouts, apart)

    def _revision(self, instant: datetime) -> int | None:
        return revision_at(self.settings, instant)

    def _sum_up(
        self, days: Sequence[date], stretch: _Stretch, judged: Judgement, heard: Contacts
    ) -> Iterator[tuple[Key, Day]]:
        """Each of these course days, which follow one another, exercise by exercise."""
        starts = [day_start(self.settings, day) for day in (*days, days[-1] + ONE)]
        asked: dict[Key, list[Slot]] = {}
        for slot in stretch.slots:
            asked.setdefault((slot.date, slot.exercise), []).append(slot)
        done: dict[Key, list[Bout]] = {}
        for day, bout in _dated(stretch, judged, days, starts):
            done.setdefault((day, bout.exercise), []).append(bout)
        spans = dict(zip(days, pairwise(starts), strict=True))
        for key in sorted(key for key in asked.keys() | done.keys() if key[0] in spans):
            slots, bouts = asked.get(key, []), done.get(key, ())
            figures = day_figures(key[1], slots, judged, bouts, spans[key[0]], self.rules)
            waits = bool(figures.missing or figures.on_time_missing)
            waits = waits and any(heard.may_tell(slot.end) for slot in slots)
            yield key, Day(figures, _standings(slots, judged), self._next(slots), waits)

    def _next(self, slots: Iterable[Slot]) -> datetime | None:
        closing = (self.rules.closes(slot) for slot in slots)
        return min((at for at in closing if at >= self.now), default=None)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Days [first, last] and what lies in them or within reach of them: [since, until)."""

    first: date
    last: date
    since: datetime
    until: datetime
    slots: tuple[Slot, ...]
    bouts: tuple[Bout, ...]
    apart: frozenset[str]

    @property
    def reaches_before(self) -> bool:
        """Whether the night before does not part it from the day before."""
        early = any(slot.date < self.first for slot in self.slots)
        return early or any(_when(bout) < self.since for bout in self.bouts)

    @property
    def reaches_after(self) -> bool:
        """Whether the night after does not part it from the day after."""
        near = self.until - REACH
        late = any(slot.date <= self.last and slot.end > near for slot in self.slots)
        return late or any(_when(bout) >= near for bout in self.bouts)


def _when(bout: Bout) -> datetime:
    return bout.slot_start or bout.at


def _dated(
    stretch: _Stretch, judged: Judgement, days: Sequence[date], starts: Sequence[datetime]
) -> Iterator[tuple[date, Bout]]:
    """Each bout with its course day: of its slot, else of when it was done; of a go, the one's
    that counts. Bouts done outside the days are left out."""
    by_id = {bout.id: bout for bout in stretch.bouts}
    dates = {slot.key: slot.date for slot in stretch.slots}
    for bout in stretch.bouts:
        counts = judged.credit.joined.get(bout.id, bout.id)
        slot = judged.credit.place[counts]
        number = bisect_right(starts, _when(by_id[counts])) - 1
        if slot is not None:
            yield dates[slot], bout
        elif 0 <= number < len(days):
            yield days[number], bout


def _standings(slots: Sequence[Slot], judged: Judgement) -> list[list[object]]:
    """[start, end, standing, credited, asked] of each slot, as a row keeps them."""
    return [
        [
            slot.start.isoformat(),
            slot.end.isoformat(),
            judged.standing[slot.key],
            judged.credit.slots[slot.key].told,
            slot.dose.amount,
        ]
        for slot in slots
    ]


def _dates(first: date, last: date) -> list[date]:
    return [first + ONE * number for number in range((last - first).days + 1)]


def _runs(days: Collection[date]) -> Iterator[tuple[date, date]]:
    """Days as runs without a gap, (first, last) of each."""
    run: list[date] = []
    for day in sorted(days):
        if run and day - run[-1] > ONE:
            yield run[0], run[-1]
            run = []
        run.append(day)
    if run:
        yield run[0], run[-1]

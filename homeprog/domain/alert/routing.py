"""Who is told of an alert, who is next when nobody takes it up, and when."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from ..clock import local
from ..hours import Closing, DutyHours, WeekHours, on_duty, spans
from .kinds import is_trouble
from .settings import ClinicSetting, KindSetting, in_quiet

LONGEST_COVER = 5  # who covers may be covered for in turn
Group = tuple[str, ...]  # staff ids told at one time


@dataclass(frozen=True, slots=True)
class Week:
    """When a clinic is open and who is on duty for trouble."""

    zone: str
    hours: Sequence[WeekHours]
    duty: Sequence[DutyHours]
    closing: Closing

    def on_duty(self, now: datetime) -> Group:
        """Staff ids on duty for trouble at `now`, each once."""
        return tuple(dict.fromkeys(on_duty(self.duty, self.zone, now, self.closing)))

    def elapsed(self, since: datetime, until: datetime, trouble: bool) -> timedelta:
        """Clinic hours over [since, until); for trouble also hours in which somebody is on duty.

        A clinic that named no hours is taken as always open: an alert must not stand still.
        """
        if not self.hours or until <= since:
            return max(until - since, timedelta())
        shut = Closing(self.closing.days, as_weekday=-1)
        parts = [(s, e) for s, e, _ in spans(self.hours, self.zone, since, until, shut)]
        if trouble:
            named = [each for each in self.duty if each.who]
            parts += [(s, e) for s, e, _ in spans(named, self.zone, since, until, self.closing)]
        return _length((max(s, since), min(e, until)) for s, e in parts)

    def clinic_day(self, day: date) -> bool:
        """Whether the clinic is open on a day; any day where it named no hours."""
        if day in self.closing.days:
            return False
        return not self.hours or day.weekday() in {each.weekday for each in self.hours}


@dataclass(frozen=True, slots=True)
class People:
    """Who may be told of a course's alerts; staff ids of people who work here."""

    therapist: str | None  # responsible for the course, or whoever covers
    listed: Group  # the kind's list, else the clinic's, in order
    managers: Group
    taken_by: str | None = None  # whoever took the alert up


@dataclass(frozen=True, slots=True)
class Standing:
    """An alert as far as telling goes."""

    kind: str
    level: str
    taken_up: bool
    opened: datetime
    clock_starts: datetime
    raised: datetime | None = None  # when its level last became worse
    taken_at: datetime | None = None
    handed_back: datetime | None = None  # when whoever had taken it up left; it is open again

    @property
    def since(self) -> datetime:
        """What was told before this counts no more."""
        return max(each for each in (self.opened, self.raised, self.handed_back) if each)

    @property
    def worse_since_taken_up(self) -> bool:
        return bool(self.raised and self.taken_at and self.raised > self.taken_at)


@dataclass(frozen=True, slots=True)
class Told:
    """Who was told since `Standing.since`, and when last."""

    people: frozenset[str] = frozenset()
    last: datetime | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """Whom to tell now. why: first | next | manager | raised."""

    people: Group
    why: str


def is_due(
    alert: Standing,
    told: Told,
    setting: KindSetting,
    clinic: ClinicSetting,
    week: Week,
    now: datetime,
) -> bool:
    """Whether somebody, or somebody more, is to be told of an alert at `now`.

    Trouble goes by who is on duty, at once: setting and level delay nothing. In a 'nobody' hour
    no one is woken and the clock starts at the opening. What is for this week waits for the
    morning digest. Taken up: only the one who did is told, once, if it has become worse since.
    """
    trouble = is_trouble(alert.kind)
    if not trouble and (not setting.on or in_quiet(setting, local(now, week.zone).time())):
        return False
    if alert.taken_up:
        return alert.worse_since_taken_up and not told.people
    if alert.level == "this_week" and not trouble:
        return False
    if alert.clock_starts > now and not (trouble and week.on_duty(now)):
        return False
    if told.last is None:
        return True
    return week.elapsed(told.last, now, trouble) >= clinic.allowed(alert.level)


def step_after(
    told: Collection[str], alert: Standing, people: People, setting: KindSetting, duty: Group
) -> Step | None:
    """The first to be told, or the next on the list, or the managers; None: all know.

    Trouble also goes to whoever has come on duty since.
    """
    if alert.taken_up:
        return Step((people.taken_by,), "raised") if people.taken_by and not told else None
    if not told:
        first = _first(is_trouble(alert.kind), people, setting, duty)
        return Step(first, "raised" if alert.raised else "first") if first else None
    came_on = tuple(each for each in duty if each not in told)
    if is_trouble(alert.kind) and came_on:
        return Step(came_on, "next")
    for each in people.listed:
        if each not in told:
            return Step((each,), "next")
    left = tuple(each for each in people.managers if each not in told)
    return Step(left, "manager") if left else None


def _first(trouble: bool, people: People, setting: KindSetting, duty: Group) -> Group:
    therapist: Group = (people.therapist,) if people.therapist else ()
    order: list[Group] = [therapist, duty, people.listed[:1]]
    if trouble:
        order = [duty, therapist, people.listed[:1]]
    elif not setting.therapist_first:
        order = [people.listed[:1], duty, therapist]
    return next((group for group in (*order, people.managers) if group), ())


def covering(who: str | None, covers: Mapping[str, str], working: Collection[str]) -> str | None:
    """`who`, or whoever covers for them now; None where nobody of these works here."""
    chain = [who] if who else []
    while chain and chain[-1] in covers and len(chain) <= LONGEST_COVER:
        if covers[chain[-1]] in chain:
            break
        chain.append(covers[chain[-1]])
    return next((each for each in reversed(chain) if each in working), None)


def _length(parts: Iterable[tuple[datetime, datetime]]) -> timedelta:
    """The time that any of the parts covers."""
    total, reached = timedelta(), None
    for start, end in sorted(parts):
        begins = start if reached is None else max(start, reached)
        if end > begins:
            total += end - begins
            reached = end
    return total

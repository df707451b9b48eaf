"""A regime beside its template, the facts and the limits: what every rule looks at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..course import WRIST_EXTENSORS, Structure, WithIt, Zone
from .body import BLANK_FRAME, Exercise, Phase, Regime
from .dose import Schedule
from .facts import RepairFacts
from .limits import Limits

DEFAULT_WAKING = 15 * 60  # minutes, 7 to 22
NO_SHIPPED_MOTION: tuple[WithIt, ...] = ("bite", "transfer", "tendon_graft", "crush", "flexor")


@dataclass(frozen=True, slots=True)
class Case:
    """`facts` None: a template is looked at, apart from any patient."""

    regime: Regime
    template: Regime | None
    facts: RepairFacts | None
    limits: Limits

    def phases(self) -> Iterator[tuple[str, Phase]]:
        for number, phase in enumerate(self.regime.phases):
            yield f"phases.{number}", phase

    def exercises(self) -> Iterator[tuple[str, Phase, Exercise]]:
        for path, phase in self.phases():
            for number, exercise in enumerate(phase.exercises):
                yield f"{path}.exercises.{number}", phase, exercise

    @property
    def zones(self) -> frozenset[Zone]:
        return self.facts.zones if self.facts else frozenset(self.regime.zones)

    @property
    def structures(self) -> frozenset[Structure]:
        return self.facts.structures if self.facts else frozenset(self.regime.structures)

    @property
    def free(self) -> bool:
        """Whether it was not started from a template that prefills motion."""
        return self.regime.template in (None, BLANK_FRAME)

    @property
    def no_shipped_motion(self) -> list[str]:
        """Why no shipped motion fits, in words: the zones and wounds outside it."""
        found = [f"zone {zone}" for zone in sorted(self.zones - self.limits.motion_zones)]
        if self.structures and self.structures <= WRIST_EXTENSORS:
            found.append("wrist extensors alone")
        if "sagittal_band" in self.structures:
            found.append("sagittal band")
        if self.facts:
            found += [each.replace("_", " ") for each in NO_SHIPPED_MOTION if self._with(each)]
        return found

    def _with(self, what: WithIt) -> bool:
        assert self.facts is not None
        return what in self.facts.with_it or (what == "bite" and "bite" in self.facts.weakens)

    @property
    def waking_minutes(self) -> tuple[int, ...]:
        """Lengths of the waking day, one for each kind of weekday; sleep may be after midnight."""
        if not self.facts:
            return (DEFAULT_WAKING,)
        return tuple(
            (sleep.hour * 60 + sleep.minute - wake.hour * 60 - wake.minute) % 1440 or 1440
            for wake, sleep in self.facts.waking
        )

    def slots_a_day(self, schedule: Schedule) -> int:
        """Slots of the day with most of them."""
        return slots_a_day(schedule, max(self.waking_minutes))


def early_motion(case: Case) -> list[tuple[str, Phase]]:
    """The phases that move the repair before the day a slab may come off at the earliest."""
    return [
        (path, phase)
        for path, phase in case.phases()
        if before(phase, case.limits.slab_off) and any(e.moves_repair for e in phase.exercises)
    ]


def before(phase: Phase, day: int) -> bool:
    """Whether a phase may begin before a day; False while the surgeon has to enter its day."""
    return phase.earliest_day is not None and phase.earliest_day < day


def slots_a_day(schedule: Schedule, waking: int) -> int:
    """Slots in a waking day of that many minutes: a rest of half an interval makes one more."""
    if schedule.kind == "at":
        return len(schedule.at)
    if schedule.kind == "times_a_day":
        return schedule.times
    whole, rest = divmod(waking, schedule.every)
    return whole + (2 * rest >= schedule.every)

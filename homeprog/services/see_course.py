"""What is in force in a course, read once for the phone's plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy.orm import Session

from ..domain.course import Worn
from ..domain.hold import held_at
from ..domain.regime import Exercise, Phase
from ..storage import courses
from ..storage.models import Course, SignedText
from ..storage.timelines import exercises_in_force, holds_of, phase_in_force

UNKNOWN_WORN: Worn = "slab"  # texts while nobody has said what is worn
BARE: Worn = "splint"  # texts where a phase has nothing worn
Texts = Mapping[str, SignedText]


@dataclass(frozen=True, slots=True)
class Seen:
    """A course as it stands at `now`, before it is put into words."""

    course: Course
    state: str
    facts: Mapping[str, Any]
    phase: Phase | None
    exercises: tuple[Exercise, ...]
    held: frozenset[str]  # keys of those a hold keeps from being asked for
    now: datetime

    @property
    def worn(self) -> Worn | None:
        """What is worn: the phase says, before confirmation the facts; None: nothing, unknown."""
        if self.phase is not None:
            return self.phase.splint.worn
        return cast("Worn | None", self.facts.get("worn"))

    @property
    def texts_worn(self) -> Worn:
        """Which of the texts by what is worn are told."""
        return self.worn or (UNKNOWN_WORN if self.phase is None else BARE)


def see(db: Session, course: Course, now: datetime) -> Seen:
    """Read what is in force in a course."""
    exercises, holds = exercises_in_force(db, course, now), holds_of(db, course, now)
    phase = phase_in_force(db, course, now)
    keys = [each.key for each in exercises]
    if phase is not None and phase.rehearsal is not None:
        keys.append(phase.rehearsal.key)
    return Seen(
        course=course,
        state=courses.state(db, course, now),
        facts=courses.facts_in_force(db, course, now),
        phase=phase,
        exercises=exercises,
        held=frozenset(key for key in keys if held_at(holds, key, now)),
        now=now,
    )

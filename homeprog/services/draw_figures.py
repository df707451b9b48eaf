"""Draw a stage's pictures for one hand, from the same row that prescribes it. Writes nothing."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy.orm import Session

from ..domain.course import DIGITS, Digit, Side, Zone
from ..domain.errors import Invalid
from ..domain.figure import Figure, describe, figures, scenes_of, strip
from ..domain.regime import Phase, parse
from ..phrases import Say, phrases_of
from ..storage.courses import facts_in_force, repairs_in_force
from ..storage.models import Course

STAFF = "en"  # the language of staff pages


@dataclass(frozen=True, slots=True)
class Hand:
    """Whose hand a picture shows."""

    side: Side
    repaired: tuple[Digit, ...] = ()
    zone: Zone | None = None  # None: none is marked, as where repairs lie in several


def hand_of(db: Session, course: Course, now: datetime) -> Hand | None:
    """The course's hand by the facts in force; None while its side is not entered."""
    side = facts_in_force(db, course, now).get("side")
    if side is None:
        return None
    rows = repairs_in_force(db, course, now)
    there, zones = {row.digit for row in rows}, {row.zone for row in rows}
    repaired = tuple(digit for digit in DIGITS if digit in there)
    return Hand(side, repaired, cast(Zone, zones.pop()) if len(zones) == 1 else None)


def draw_stage(phase: Phase, hand: Hand, say: Say | None = None) -> tuple[Figure, ...]:
    """The pictures of a stage; `say` in the patient's language, English if left out."""
    return figures(phase, hand.side, hand.repaired, hand.zone, say or phrases_of(STAFF))


def draw_strip(phase: Phase, hand: Hand, key: str) -> str | None:
    """One picture of a stage in three steps for paper, as SVG; None where it has no such key."""
    say = phrases_of(STAFF)
    scenes = dict(scenes_of(phase, hand.side, hand.repaired, hand.zone))
    scene = scenes.get(key)
    return strip(scene, *describe(scene, say)) if scene else None


def stages_typed(body: Mapping[str, Any]) -> list[Phase]:
    """The stages of a body as typed that can be meant; one with a fault in it is left out."""
    found: list[Phase] = []
    for phase in body["phases"]:
        with suppress(Invalid):
            found += parse({**body, "phases": [phase]}).phases
    return found

"""Stages for the tests of the pictures: factories that state only what matters."""

from __future__ import annotations

from typing import Any

from homeprog.domain.course import Digit, Joint
from homeprog.domain.figure import Scene, scenes_of
from homeprog.domain.regime import Exercise, Phase, parse
from homeprog.domain.regime.body import Angle, Band, Motion, Position, Splint, Wear
from homeprog.domain.regime.dose import Dose, Schedule
from tests.domain.regime_cases import TEMPLATES, body

FINGERS: tuple[Digit, ...] = ("index", "middle", "ring", "small")
PLAIN: dict[str, Any] = {"earliest_day": 0, "cautions": ("Take care.",)}


def angle(bent: int) -> Angle:
    """An angle from degrees towards flexion."""
    return Angle(abs(bent), "extension" if bent < 0 else "flexion")


def held(joint: Joint, low: int, high: int | None = None, digits: Any = FINGERS) -> Position:
    most = low if high is None else high
    return Position(joint, () if joint == "wrist" else digits, angle(low), angle(most))


def moves(joint: Joint, start: int, end: int, digits: Any = FINGERS) -> Position:
    on = () if joint == "wrist" else digits
    return Position(joint, on, angle(start), angle(end), moves=True)


def exercise(motion: Motion, joints: tuple[Joint, ...], **more: Any) -> Exercise:
    more = {"digits": FINGERS, "with_splint": "", **more}
    return Exercise("it", "It", ("Do it.",), Dose(4), Schedule("times_a_day", times=4), motion,
                    joints=joints, **more)  # fmt: skip


def phase(*positions: Position, does: Exercise | None = None, **more: Any) -> Phase:
    """A stage in a splint that holds the four fingers, worn at all times."""
    plain: dict[str, Any] = {
        "splint": Splint("splint", "A splint.", FINGERS),
        "wear": Wear(True, True, True, (), "At all times."),
        "exercises": (does,) if does else (),
        "leading": does.key if does else None,
    }
    return Phase("stage", "Stage", positions=positions, **PLAIN, **(plain | more))


def worn(kind: Any, holds: tuple[Digit, ...] = FINGERS) -> Splint:
    return Splint(kind, "Worn.", holds)


def band(*joints: Joint) -> Band:
    return Band(joints, FINGERS, "Ring.", "Ring.")


def scenes(of: Phase, *repaired: Digit, side: Any = "left", zone: Any = None) -> dict[str, Scene]:
    return dict(scenes_of(of, side, repaired, zone))


def shipped() -> list[tuple[str, Phase]]:
    """(template and stage, stage) of everything that ships."""
    return [(f"{key}.{each.key}", each) for key in TEMPLATES for each in parse(body(key)).phases]

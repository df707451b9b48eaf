"""The pictures of a phase on one hand, each with its words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256

from ..course import Digit, Side, Zone
from ..regime.body import Phase
from .angle_words import Say
from .description import describe
from .draw import draw
from .scene import Purpose, Scene
from .scenes import scenes_of

KEPT = 2048  # drawings


@dataclass(frozen=True, slots=True)
class Figure:
    """One picture, in one language."""

    key: str  # as scenes_of
    purpose: Purpose
    exercise: str | None  # key of the exercise it shows
    digits: tuple[Digit, ...]  # that it stands for
    title: str
    description: str
    svg: str
    hash: str  # sha256 of the svg, 16 hex digits


def figures(
    phase: Phase, side: Side, repaired: tuple[Digit, ...], zone: Zone | None, words: Say
) -> tuple[Figure, ...]:
    """Every picture of a phase; `words` looks up the phrases of the patient's language."""
    return tuple(
        figure(key, scene, _exercise(phase, key), words)
        for key, scene in scenes_of(phase, side, repaired, zone)
    )


def figure(key: str, scene: Scene, exercise: str | None, words: Say) -> Figure:
    """A scene, drawn and told."""
    title, description = describe(scene, words)
    svg, hash_ = _drawn(scene, title, description)
    return Figure(key, scene.purpose, exercise, scene.digits, title, description, svg, hash_)


@lru_cache(maxsize=KEPT)
def _drawn(scene: Scene, title: str, description: str) -> tuple[str, str]:
    svg = draw(scene, title, description)
    return svg, sha256(svg.encode()).hexdigest()[:16]


def _exercise(phase: Phase, key: str) -> str | None:
    """'lift' of 'exercise.lift' and of 'exercise.lift.2'."""
    if not key.startswith("exercise."):
        return None
    name = key.removeprefix("exercise.")
    return name if phase.exercise(name) else re.sub(r"\.\d+$", "", name)

"""Angles in words: a positive number beside 'bent', 'back' or, at the wrist, 'forward'."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ..course import Joint

Say = Callable[[str, Mapping[str, object]], str]


def angle(say: Say, joint: Joint, low: int, high: int) -> str:
    """Where a joint is held between two angles, degrees towards flexion: 'bent 20 degrees'."""
    if low == high == 0:
        return say("figure.angle.straight", {})
    if low < 0 < high:
        return range_(say, joint, low, high)
    side = _side(joint, low + high)
    least, most = sorted((abs(low), abs(high)))
    if least == most:
        return say(f"figure.angle.{side}", {"n": most})
    return say(f"figure.between.{side}", {"a": least, "n": most})


def range_(say: Say, joint: Joint, start: int, end: int) -> str:
    """A way from one angle to another, degrees towards flexion: 'from 0 to 30 degrees'."""
    holes = {"a": abs(start), "n": abs(end)}
    if start < 0 < end:
        return say(f"figure.range.back_to_{_bent(joint)}", holes)
    if end < 0 < start:
        return say(f"figure.range.{_bent(joint)}_to_back", holes)
    if min(start, end) < 0 in (start, end):
        key = "back_to_straight" if end == 0 else "straight_to_back"
        return say(f"figure.range.{key}", {"n": abs(start + end)})
    return say(f"figure.range.{_side(joint, start + end)}", holes)


def stop_at(say: Say, joint: Joint, limit: int, *, bends: bool) -> str:
    """The stop of a movement; one that straightens from it is told not to bend past it."""
    key = "stop" if bends else "past"
    if limit == 0:
        return say(f"figure.{key}.straight", {})
    return say(f"figure.{key}.{_side(joint, limit)}", {"n": abs(limit)})


def never_past(say: Say, joint: Joint, most: int) -> str:
    """What must not be passed towards bending."""
    if most == 0:
        return say("figure.never.straight", {})
    return say(f"figure.never.{_side(joint, most)}", {"n": abs(most)})


def _side(joint: Joint, degrees: float) -> str:
    return "back" if degrees < 0 else _bent(joint)


def _bent(joint: Joint) -> str:
    return "forward" if joint == "wrist" else "bent"

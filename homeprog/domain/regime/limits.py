"""The numbers the rules for a regime use; each is a clinic setting with this default."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..course import Digit, Zone


def _stops() -> Mapping[Digit, int]:
    return {"index": 30, "middle": 30, "ring": 40, "small": 40}


@dataclass(frozen=True, slots=True)
class Limits:
    """Defaults. Days are post-operative days; the source stands at the end of the line."""

    motion_zones: frozenset[Zone] = frozenset({"V", "VI", "VII", "TIII", "TIV", "TV"})
    surgeon_removal_zones: frozenset[Zone] = frozenset({"VII", "VIII", "IX"})
    slab_off: int = 21  # day; common practice, no source
    flexion_stops: Mapping[Digit, int] = field(default_factory=_stops)  # degrees; from memory
    flexion_stop_until: int = 21  # day, to 24; from memory
    flexion_never: int = 60  # degrees: refused as an early stop
    flexion_never_until: int = 24  # day; from memory
    wrist_flexion_from: int = 42  # day; from memory
    thumb_dynamic_a_day: int = 6  # slots; e-hand.com/thr/thr069.htm
    thumb_dynamic_until: int = 28  # day; e-hand.com/thr/thr069.htm (0 to 4 weeks)
    reason_over: float = 1.5  # times the template's daily total
    refuse_over: float = 2.5  # times the template's daily total
    slot_gap: int = 20  # minutes between slots of one exercise
    resistance_from: int = 56  # day; e-hand.com (strengthening from 8 weeks)
    resistance_late_from: int = 70  # day: transfer, graft, inflammatory arthritis; from memory
    combined_flexion_from: int = 42  # day; from memory
    scar_massage_from: int = 10  # day: stitches out at 10 to 14; from memory
    scar_massage_a_day: tuple[int, int] = (3, 4)  # times; from memory
    scar_massage_minutes: int = 5  # from memory
    degrees_most: int = 120  # no joint of the hand bends further

"""Course: one operated hand, one operation, one or more repairs."""

from __future__ import annotations

from datetime import date
from typing import Literal, get_args

Side = Literal["left", "right"]
Digit = Literal["thumb", "index", "middle", "ring", "small"]
Structure = Literal[
    "EDC", "EIP", "EDM", "EPL", "EPB", "APL", "ECRL", "ECRB", "ECU",
    "sagittal_band", "central_slip", "muscle_belly",
]  # fmt: skip
Zone = Literal["I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX",
               "TI", "TII", "TIII", "TIV", "TV"]  # fmt: skip
Joint = Literal["shoulder", "elbow", "forearm", "wrist", "CMC", "MCP", "PIP", "DIP", "IP"]
Worn = Literal["plaster", "slab", "splint", "yoke", "sling"]
WithIt = Literal[
    "fracture", "flap_or_graft", "nerve", "artery", "delayed_repair", "tendon_graft", "transfer",
    "bite", "crush", "flexor",
]  # fmt: skip
AgeGroup = Literal["under_12", "12_to_17", "adult"]
FollowsPlan = Literal["alone", "with_help", "no"]
Weakens = Literal[
    "steroid", "fluoroquinolone", "inflammatory_arthritis", "diabetes", "bite",
    "delayed_or_frayed",
]  # fmt: skip
Closing = Literal[
    "completed", "moved_elsewhere", "lost_to_follow_up", "new_operation", "withdrew", "died",
    "opened_in_error",
]  # fmt: skip

DIGITS: tuple[Digit, ...] = get_args(Digit)
STRUCTURES: tuple[Structure, ...] = get_args(Structure)
ZONES: tuple[Zone, ...] = get_args(Zone)
JOINTS: tuple[Joint, ...] = get_args(Joint)
WORN: tuple[Worn, ...] = get_args(Worn)
CAN_COME_OFF: tuple[Worn, ...] = ("slab", "splint", "yoke", "sling")
WITH_IT: tuple[WithIt, ...] = get_args(WithIt)

WRIST_EXTENSORS: frozenset[Structure] = frozenset({"ECRL", "ECRB", "ECU"})
THUMB_ZONES: frozenset[Zone] = frozenset({"TI", "TII", "TIII", "TIV", "TV"})


def day_number(day: date, operation: date) -> int:
    """Post-operative day: the day of surgery is day 0."""
    return (day - operation).days


def weeks_and_days(number: int) -> tuple[int, int]:
    """A post-operative day as complete weeks and days left over: 23 -> (3, 2)."""
    return divmod(number, 7)


def joints_of(digit: Digit) -> tuple[Joint, ...]:
    """The joints a digit has, nearest the wrist first."""
    return ("CMC", "MCP", "IP") if digit == "thumb" else ("MCP", "PIP", "DIP")

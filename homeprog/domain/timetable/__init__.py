"""The timetable: from what is in force to slots and the prompts they share."""

from .course_day import course_day, waking
from .grid import hours_awake, refuse_times_outside_waking, slots_a_day
from .layout import cut_slots, lay_out
from .prompts import Member, prompt_groups
from .setting import DEFAULT_WEEK, Asked, Setting, Slot, Waking, Week
from .spread import asking_pain, spread

__all__ = [
    "DEFAULT_WEEK",
    "Asked",
    "Member",
    "Setting",
    "Slot",
    "Waking",
    "Week",
    "asking_pain",
    "course_day",
    "cut_slots",
    "hours_awake",
    "lay_out",
    "prompt_groups",
    "refuse_times_outside_waking",
    "slots_a_day",
    "spread",
    "waking",
]

"""Adherence: standings of slots, summaries of days, figures over a window (docs/METHODS.md)."""

from .figures import Bounds, Figures, figures, percents, printed
from .standing import Judgement, Standing, excused_slots, judge, not_asked, standings
from .summary import ZERO, DaySummary, add, day_figures, from_row, total

__all__ = [
    "ZERO",
    "Bounds",
    "DaySummary",
    "Figures",
    "Judgement",
    "Standing",
    "add",
    "day_figures",
    "excused_slots",
    "figures",
    "from_row",
    "judge",
    "not_asked",
    "percents",
    "printed",
    "standings",
    "total",
]

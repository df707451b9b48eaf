"""When staff must hear of what was logged, not logged, not heard or not released."""

from .characteristics import Row, operating
from .likeness import Likeness, estimate_rho
from .limit import Threshold, threshold
from .overdue import no_contact, phase_overdue
from .row import SILENCE_VERSION, silence_row
from .running_sum import Levels, SumDay, accepted, first_reached, outcomes, sum_by_day
from .silence import Asked, AskRule, DueSlot, ask_all_well, own_gap, silent

__all__ = [
    "SILENCE_VERSION",
    "AskRule",
    "Asked",
    "DueSlot",
    "Levels",
    "Likeness",
    "Row",
    "SumDay",
    "Threshold",
    "accepted",
    "ask_all_well",
    "estimate_rho",
    "first_reached",
    "no_contact",
    "operating",
    "outcomes",
    "own_gap",
    "phase_overdue",
    "silence_row",
    "silent",
    "sum_by_day",
    "threshold",
]

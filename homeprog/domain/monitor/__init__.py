"""When staff must hear of what was logged, not logged, not heard or not released (docs/METHODS.md)."""

from .overdue import no_contact, phase_overdue
from .provisional import PROVISIONAL, FewLogged, few_logged

__all__ = ["PROVISIONAL", "FewLogged", "few_logged", "no_contact", "phase_overdue"]

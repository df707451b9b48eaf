"""The clinic's figures a phone goes by, as numbers with their units in the names."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy.orm import Session

from ..storage import clinics
from .be_quiet import LONGEST_QUIET
from .plan_slots import Json

FIGURES = {  # what the phone calls it -> the clinic's setting
    "done_share": "done_share",
    "timely_minutes": "timely_minutes",
    "fill_in_hours": "fill_in_hours",
    "enough_times_dose": "enough.share",
    "take_back_minutes": "take_back_minutes",
    "no_contact_hours": "no_contact_hours",
    "pain_red_flag_at": "pain.red_flag_at",
    "pain_rise": "pain.rise",
    "pain_rise_floor": "pain.rise_floor",
    "pain_each_bout": "pain.each_bout",
    "silence_waking_hours": "silence.waking_hours",
}


def plan_rules(db: Session, clinic_id: uuid.UUID, now: datetime) -> Json:
    """What the phone would otherwise hold as constants; pain in points of 0 to 10."""
    own = clinics.settings(db, clinic_id, now)
    told = {name: own[key] for name, key in FIGURES.items()}
    return told | {"quiet_longest_hours": LONGEST_QUIET.total_seconds() / 3600}

"""The clinic's settings for what a regime may say, as the rules take them."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.regime import Limits
from .clinics import settings


def limits_of(db: Session, clinic_id: uuid.UUID, now: datetime) -> Limits:
    """The limits in force at `now`: the clinic's own figures over the defaults.

    Which zones motion is shipped for is no figure, and no clinic's to set.
    """
    own = {
        key.removeprefix("regime."): value
        for key, value in settings(db, clinic_id, now).items()
        if key.startswith("regime.")
    }
    near, far = int(own["stop_index_middle"]), int(own["stop_ring_small"])
    return Limits(
        slab_off=int(own["slab_off_day"]),
        flexion_stops={"index": near, "middle": near, "ring": far, "small": far},
        flexion_stop_until=int(own["stop_until_day"]),
        flexion_never=int(own["never_stop"]),
        flexion_never_until=int(own["never_stop_until_day"]),
        wrist_flexion_from=int(own["wrist_flexion_day"]),
        thumb_dynamic_a_day=int(own["thumb_dynamic_a_day"]),
        thumb_dynamic_until=int(own["thumb_dynamic_until_day"]),
        reason_over=float(own["reason_over"]),
        refuse_over=float(own["refuse_over"]),
        slot_gap=int(own["slot_gap_minutes"]),
        resistance_from=int(own["resistance_day"]),
        resistance_late_from=int(own["resistance_late_day"]),
        combined_flexion_from=int(own["combined_flexion_day"]),
        scar_massage_from=int(own["scar_massage_day"]),
        scar_massage_a_day=(int(own["scar_massage_least"]), int(own["scar_massage_most"])),
        scar_massage_minutes=int(own["scar_massage_minutes"]),
    )

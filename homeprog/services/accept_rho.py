"""A manager accepts the clinic's own figure of how alike the slots of one day are."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.clock import local
from ..domain.errors import Conflict
from ..domain.monitor.likeness import Likeness, estimate_rho
from ..domain.settings import SETTINGS
from ..storage import clinics
from ..storage.likeness import pooled_days
from ..storage.models import ClinicSetting
from .actor import Actor, require_role
from .keep_audit import keep

KEY = "few_logged.rho"


def own_rho(db: Session, by: Actor, now: datetime) -> Likeness | None:
    """The estimate from the clinic's pooled days; None until there are enough of them."""
    zone = clinics.clinic_of(db, by.clinic_id).zone
    return estimate_rho(pooled_days(db, by.clinic_id, local(now, zone).date()))


def accept_rho(db: Session, by: Actor, now: datetime) -> float:
    """Use the estimate, as it is now, in place of the default from now on; to two decimals.

    Raises Conflict where there are too few days, or where it lies outside what may be set.
    """
    require_role(by, "manager")
    found, bound = own_rho(db, by, now), SETTINGS[KEY]
    if found is None:
        raise Conflict("rho_unknown", "There are too few days yet to tell.")
    value = round(found.rho, 2)
    if not bound.least <= value <= bound.most:
        raise Conflict("rho_bounds", f"{value:g} is not within {bound.least:g} to {bound.most:g}.")
    row = ClinicSetting(
        clinic_id=by.clinic_id, at=now, key=KEY, value={"is": value}, valid_from=now, by_id=by.id
    )
    db.add(row)
    db.flush()
    keep(db, by, "accepted", row, now)
    return value

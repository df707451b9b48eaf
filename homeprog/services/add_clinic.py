"""Add a clinic."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.clock import zone_of
from ..domain.errors import Invalid
from ..storage.models import Clinic


def add_clinic(db: Session, name: str, zone: str, now: datetime, demo: bool = False) -> Clinic:
    """A clinic with nothing set. Invalid on a name that is taken or a zone that is not known."""
    name = name.strip()
    faults: dict[str, list[str]] = {}
    if not name:
        faults["name"] = ["Say the clinic's name."]
    elif db.scalars(select(Clinic.id).where(Clinic.name == name)).first():
        faults["name"] = [f"There is a clinic {name} already."]
    if not known_zone(zone):
        faults["zone"] = [f"{zone!r} is not a zone of the IANA list, such as Europe/London."]
    if faults:
        raise Invalid("clinic", "The clinic was not added.", faults)
    clinic = Clinic(at=now, name=name, zone=zone, demo=demo)
    db.add(clinic)
    db.flush()
    return clinic


def known_zone(zone: str) -> bool:
    """Whether a name is one of the IANA list."""
    try:
        return bool(zone) and bool(zone_of(zone))
    except (KeyError, ValueError, OSError):  # ZoneInfoNotFoundError is a KeyError
        return False

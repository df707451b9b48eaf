"""Choose, on a phone, the language it speaks."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.errors import Invalid
from ..storage.languages import languages_on
from ..storage.models import Device
from .actor import Actor
from .keep_audit import keep


def choose_language(db: Session, by: Actor, device: Device, language: str, now: datetime) -> None:
    """This phone's language, whatever the patient's: a carer's phone may speak another.

    Raises Invalid for a language the clinic has not signed off.
    """
    if language not in languages_on(db, device.clinic_id, now):
        said = "This language is not on at your clinic."
        raise Invalid("language_off", said, {"language": [said]})
    device.language = language
    keep(db, by, "language_chosen", device, now)

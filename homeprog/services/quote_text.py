"""What the phone told the patient who reported trouble, for the staff who read of it."""

from __future__ import annotations

from typing import cast

from sqlalchemy.orm import Session

from ..domain.trouble import Kind, text_key
from ..storage import clinics
from ..storage.languages import ENGLISH
from ..storage.models import Alert, Course, SignedText, TroubleReport
from .see_course import see


def quote_text(db: Session, course: Course, alert: Alert) -> SignedText | None:
    """The text that answers a report, as signed when it came; None where no phone sent it.

    In English for the staff who read it, whatever the phone speaks.
    """
    report = db.get(TroubleReport, alert.trouble_id) if alert.trouble_id else None
    if report is None or report.device_id is None:
        return None
    texts = clinics.signed_texts(db, course.clinic_id, ENGLISH, report.at)
    key = text_key(cast(Kind, report.kind), see(db, course, report.at).texts_worn)
    return texts.get(key)

"""Adopt a starting point as the clinic's template, and approve it by another clinician."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from ..domain.errors import Conflict, Forbidden, Invalid, NotFound
from ..domain.regime import Regime, check, parse, plan_hash, refuse_blocked, to_json
from ..storage import scope
from ..storage.limits import limits_of
from ..storage.models import Template, TemplateApproval
from ..storage.regimes import standing, versions
from ..storage.staff import clinicians
from .actor import Actor, require_clinician
from .keep_audit import keep

SHIPPED = Path(__file__).resolve().parent.parent / "starting_points" / "regimes"
ALONE_AFTER = timedelta(days=1)  # a unit with one clinician approves alone after this


@dataclass(frozen=True, slots=True)
class StartingPoint:
    """An unapproved regime that a clinic may adopt. `sources`: field path -> source."""

    key: str
    name: str
    summary: str
    regime: Regime
    sources: Mapping[str, str]
    beside: Mapping[str, list[str]]  # words shown beside a field


@lru_cache(maxsize=1)
def starting_points() -> Mapping[str, StartingPoint]:
    """What is shipped, by key."""
    found = (_read(path) for path in sorted(SHIPPED.glob("*.json")))
    return {each.key: each for each in found}


def _read(path: Path) -> StartingPoint:
    raw: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return StartingPoint(
        raw["key"], raw["name"], raw["summary"], parse(raw["body"]), raw["sources"], raw["beside"]
    )


def starting_point(key: str) -> StartingPoint:
    """The starting point of that key; NotFound otherwise."""
    found = starting_points().get(key)
    if found is None:
        raise NotFound("template")
    return found


def adopt_template(db: Session, by: Actor, key: str, now: datetime) -> Template:
    """Take a starting point into the clinic; it may be used once another clinician approves.

    Raises Conflict where the same body has been adopted and not withdrawn.
    """
    require_clinician(by, "adopt a template")
    start = starting_point(key)
    earlier = versions(db, by.clinic_id, key)
    digest = plan_hash(start.regime)
    if any(each.template.plan_hash == digest and not each.withdrawn for each in earlier):
        raise Conflict("template_adopted", "This template has been adopted as it stands.")
    refuse_blocked(check(start.regime, None, None, {}, limits_of(db, by.clinic_id, now)))
    template = Template(
        at=now, clinic_id=by.clinic_id, key=key, version=len(earlier) + 1, name=start.name,
        body=to_json(start.regime), plan_hash=digest,
        sources={"fields": dict(start.sources), "beside": dict(start.beside)},
    )  # fmt: skip
    db.add(template)
    db.flush()
    _step(db, by, template, "adopted", None, now)
    return template


def approve_template(
    db: Session, by: Actor, template_id: uuid.UUID | str, now: datetime, reason: str = ""
) -> TemplateApproval:
    """Approve an adopted template: a clinician other than the one who adopted it.

    A unit with one clinician approves alone after a day, with a reason.
    """
    require_clinician(by, "approve a template")
    template = scope.get(db, Template, by.clinic_id, template_id)
    stands = standing(db, template)
    if stands.adopted is None or stands.approved or stands.withdrawn:
        raise Conflict("not_awaiting_approval", f"This template is {stands.words}.")
    if stands.adopted.by_id == by.id:
        _refuse_alone(db, by, stands.adopted, now, reason)
    return _step(db, by, template, "approved", reason.strip() or None, now)


def _refuse_alone(
    db: Session, by: Actor, adopted: TemplateApproval, now: datetime, reason: str
) -> None:
    """The author approves only as the clinic's one clinician, a day later, saying why."""
    if {each.id for each in clinicians(db, by.clinic_id, now)} != {by.id}:
        raise Forbidden("same_clinician", "Another clinician must approve what you adopted.")
    if now < adopted.at + ALONE_AFTER:
        raise Conflict("a_day_first", "Alone, you may approve this a day after adopting it.")
    if not reason.strip():
        raise Invalid("reason_missing", "Say why.", {"reason": ["Say why you approve alone."]})


def _step(
    db: Session, by: Actor, template: Template, step: str, reason: str | None, now: datetime
) -> TemplateApproval:
    assert by.id is not None  # a clinician is a staff member
    row = TemplateApproval(
        at=now, clinic_id=by.clinic_id, template_id=template.id, step=step, reason=reason,
        by_id=by.id,
    )  # fmt: skip
    db.add(row)
    keep(db, by, f"template_{step}", template, now)
    db.flush()
    return row

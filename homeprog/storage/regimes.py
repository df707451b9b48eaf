"""Stored regimes: revisions, releases, templates and their approvals."""

from __future__ import annotations

import json
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from ..domain.regime import Regime, parse
from .models import Course, Release, Revision, Template, TemplateApproval


@lru_cache(maxsize=1024)
def parsed(text: str) -> Regime:
    """The regime of a stored body's text; each is parsed once."""
    return parse(json.loads(text))


def regime_of(body: dict[str, Any]) -> Regime:
    """The regime a stored body means; bodies are immutable, so each is read once."""
    return parsed(json.dumps(body))


def revisions(db: Session, course: Course, now: datetime) -> Sequence[Revision]:
    """The course's revisions saved by `now`, oldest first, cancelled ones among them."""
    return db.scalars(
        select(Revision)
        .where(
            Revision.clinic_id == course.clinic_id,
            Revision.course_id == course.id,
            Revision.at <= now,
        )
        .order_by(Revision.number)
    ).all()


def releases(db: Session, course: Course, now: datetime) -> Sequence[Release]:
    """The course's releases signed by `now`, oldest first, lapsed ones among them."""
    return db.scalars(
        select(Release)
        .where(
            Release.clinic_id == course.clinic_id,
            Release.course_id == course.id,
            Release.at <= now,
        )
        .order_by(Release.at, Release.id)
    ).all()


def pending(db: Session, course: Course, now: datetime) -> Revision | None:
    """The revision that is not in force yet: it waits for a release, or for its minute."""
    waiting = [
        each
        for each in revisions(db, course, now)
        if each.cancelled_by_id is None
        and (each.effective_from is None or each.effective_from > now)
    ]
    return waiting[-1] if waiting else None


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a template stands in its clinic."""

    template: Template
    adopted: TemplateApproval | None
    approved: TemplateApproval | None
    withdrawn: TemplateApproval | None

    @property
    def words(self) -> str:
        if self.withdrawn:
            return "withdrawn"
        if self.approved:
            return "approved"
        return "adopted, waits for approval" if self.adopted else "waits for adoption"

    @property
    def usable(self) -> bool:
        return self.approved is not None and self.withdrawn is None


def templates(db: Session, clinic_id: uuid.UUID) -> list[Standing]:
    """Every template of the clinic with its standing, by name, newest version first."""
    rows = db.scalars(
        select(Template)
        .where(Template.clinic_id == clinic_id)
        .order_by(Template.name, Template.version.desc())
    ).all()
    steps = _steps(db, clinic_id)
    return [_standing(row, steps.get(row.id, {})) for row in rows]


def versions(db: Session, clinic_id: uuid.UUID, key: str) -> list[Standing]:
    """Every version of one template, newest first."""
    return [each for each in templates(db, clinic_id) if each.template.key == key]


def standing(db: Session, template: Template) -> Standing:
    """Where one template stands."""
    steps = _steps(db, template.clinic_id, template.id)
    return _standing(template, steps.get(template.id, {}))


def _standing(template: Template, steps: dict[str, TemplateApproval]) -> Standing:
    return Standing(template, steps.get("adopted"), steps.get("approved"), steps.get("withdrawn"))


def _steps(
    db: Session, clinic_id: uuid.UUID, template_id: uuid.UUID | None = None
) -> dict[uuid.UUID, dict[str, TemplateApproval]]:
    query = select(TemplateApproval).where(TemplateApproval.clinic_id == clinic_id)
    if template_id is not None:
        query = query.where(TemplateApproval.template_id == template_id)
    found: dict[uuid.UUID, dict[str, TemplateApproval]] = {}
    for row in db.scalars(query.order_by(TemplateApproval.at)):
        found.setdefault(row.template_id, {})[row.step] = row
    return found

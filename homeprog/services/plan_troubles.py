"""Trouble on the phone: what can be reported, what has stopped the exercises, who has seen it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import cast

from sqlalchemy.orm import Session

from ..domain.course import Worn
from ..domain.trouble import KINDS, STOP_SCREEN, TROUBLES, Kind, offered, text_key
from ..phrases import Say
from ..storage.clinics import setting
from ..storage.courses import repairs_in_force
from ..storage.models import HoldRow, Staff, TroubleReport
from ..storage.staff import profession
from ..storage.timelines import open_holds
from ..storage.troubles import taken_up
from .plan_slots import Json, iso
from .see_course import Seen, Texts
from .sign_text import title_of
from .words_of import Words

FIRST: tuple[Kind, ...] = ("white_blue_cold", "severe_pain")  # emergencies head the list
NOT_MINE: Kind = "not_my_hand"  # ends the list; 'Is this your hand?' asks it first
OF_A_SPLINT: frozenset[Kind] = frozenset({
    "splint_gone", "band_no_longer_lifts", "splint_off_and_back", "splint_does_not_hold",
})  # fmt: skip
OFF_HOURS = ("under_1", "1_to_2", "over_2")
CHECKING = "screen.checking_plan"


def told_troubles(db: Session, seen: Sequence[Seen], texts: Texts, words: Words) -> list[Json]:
    """What can be reported, in the order to show; of several open courses the first one's texts."""
    if not seen:
        return []
    worn = seen[0].texts_worn
    kinds = [kind for kind in KINDS if any(_offered(db, each, kind) for each in seen)]
    ordered = sorted(kinds, key=lambda kind: (kind not in FIRST, kind == NOT_MINE))
    return [_trouble(kind, worn, texts, words.say) for kind in ordered]


def _offered(db: Session, seen: Seen, kind: Kind) -> bool:
    """Whether a kind can be meant: of the hand, of a splint, of a mended nerve."""
    if kind == NOT_MINE:
        return seen.phase is not None
    if seen.phase is not None and seen.worn is None:
        return kind not in OF_A_SPLINT and (kind != "tingling" or _nerve(db, seen))
    return kind in offered(seen.worn) and (kind != "tingling" or _nerve(db, seen))


def _nerve(db: Session, seen: Seen) -> bool:
    if seen.phase is None:
        return False
    repaired = any(row.nerve for row in repairs_in_force(db, seen.course, seen.now))
    return repaired or "nerve" in (seen.facts.get("with_it") or ())


def _trouble(kind: Kind, worn: Worn, texts: Texts, say: Say) -> Json:
    rule = TROUBLES[kind]
    key = text_key(kind, worn)
    return {
        "kind": kind,
        "label": texts[key].title if key in texts else title_of(key),
        "stop": rule.stop,
        "emergency": rule.emergency,
        "mistake_allowed": rule.can_be_pressed_by_mistake,
        "text": key,
        "asks": [_off_hours(say)] if kind == "splint_off_and_back" else [],
    }


def _off_hours(say: Say) -> Json:
    """How long the splint was off, asked after it is said that it was."""
    options = [{"value": each, "label": say(f"asks.{each}")} for each in OFF_HOURS]
    return {"key": "off_hours", "label": say("asks.off_hours"), "options": options}


def told_stop(db: Session, seen: Seen, texts: Texts) -> Json | None:
    """The hold that stops everything: an emergency first, else the latest; a pause is none."""
    stops = [
        (_kind(db, hold), hold)
        for hold in open_holds(db, seen.course, seen.now)
        if hold.exercise is None and hold.kind in ("stop_flag", "until_release")
    ]
    if not stops:
        return None
    kind, hold = max(stops, key=lambda stop: (_emergency(stop[0]), stop[1].starts))
    lines = texts.get(_stop_text(kind, hold, seen))
    return {
        "since": iso(hold.starts),
        "kind": kind or hold.kind,
        "lines": list(lines.lines) if lines else [],
    }


def _kind(db: Session, hold: HoldRow) -> Kind | None:
    report = db.get(TroubleReport, hold.trouble_id) if hold.trouble_id else None
    return cast(Kind, report.kind) if report else None


def _emergency(kind: Kind | None) -> bool:
    return kind is not None and TROUBLES[kind].emergency


def _stop_text(kind: Kind | None, hold: HoldRow, seen: Seen) -> str:
    if kind is not None:
        return text_key(kind, seen.texts_worn)
    return CHECKING if hold.kind == "until_release" else STOP_SCREEN


def told_seen(db: Session, seen: Seen, say: Say) -> list[Json]:
    """Who has seen the reports that are not settled, newest first: clinicians alone.

    It is no advice: by when a clinician should have rung is told beside it.
    """
    minutes = setting(db, seen.course.clinic_id, "trouble.ring_by_minutes", seen.now)
    found = []
    for each in taken_up(db, seen.course.id, seen.now):
        held = profession(db, each.by_id, each.at)
        if held is None:
            continue
        name = db.get_one(Staff, each.by_id).name
        found.append(
            {
                "report": str(each.report_id),
                "kind": each.kind,
                "by": say("seen.named", {"name": name, "profession": say(f"profession.{held}")}),
                "at": iso(each.at),
                "ring_by": iso(each.at + timedelta(minutes=minutes)),
            }
        )
    return found

"""Routes: the caseload, most in need first, and how its figures are worked out."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import groupby
from typing import Any

from flask import Blueprint, redirect, render_template, request
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain import alert
from ..domain.caseload import GROUP_WORDS, NO_CONTACT, Group, Reason, reason_words
from ..extensions import db
from ..services.actor import Actor
from ..storage import caseloads, clinics, staff
from ..storage.behind import behind
from ..storage.caseload_choice import NOBODY, Choice, Nobody
from ..storage.caseloads import AlertLine, Line
from . import words
from .guard import current_actor, staff_only

bp = Blueprint("caseload", __name__)
bp.record_once(words.on_register)

ASKED = ("therapist", "stage", "kind")
KINDS_SAID = {
    "exercise_while_stopped": "Exercise logged while stopped",
    "phase_not_released": "Stage not released",
    "not_yet": "Not yet understood",
}
WIDTH, HEIGHT, DAYS = 96, 32, 14  # of a little line: px, px, whole days


@bp.get("/")
def index() -> ResponseReturnValue:
    return redirect("/caseload")


@bp.get("/caseload")
@staff_only()
def caseload() -> ResponseReturnValue:
    """Fifty open courses, most in need first, of those asked for."""
    now, by, session = clock().now(), current_actor(), db.session()
    people = staff.clinicians(session, by.clinic_id, now)
    choice = read_choice(request.args, by, [each.id for each in people])
    number = max(1, request.args.get("page", 1, type=int))
    page = caseloads.page(session, by.clinic_id, number, now, choice)
    zone = clinics.clinic_of(session, by.clinic_id).zone
    rows = [_row(line, zone, now) for line in page.lines]
    groups = [
        (group, GROUP_WORDS[group], page.counts[group], list(each))
        for group, each in groupby(rows, key=_group)
    ]
    return render_template(
        "caseload/caseload.html", page=page, groups=groups, zone=zone, now=now,
        chosen=asked_for(request.args), mine=by.clinician,
        people=[(str(each.id), each.name) for each in people if each.id != by.id],
        kinds=[(k, kind_words(k)) for k in alert.KINDS], behind=behind(session, by.clinic_id, now),
    )  # fmt: skip


@bp.get("/methods")
@staff_only()
def methods() -> ResponseReturnValue:
    """The definitions behind every figure, in short."""
    return render_template("caseload/methods.html")


def asked_for(args: Mapping[str, str]) -> dict[str, str]:
    """The parts of the choice that were filled in, as they stand in the address."""
    return {name: args[name] for name in ASKED if args.get(name)}


def read_choice(args: Mapping[str, str], by: Actor, working: Collection[uuid.UUID]) -> Choice:
    """What the address asks for; a therapist who cannot be meant is as if left out."""
    asked = asked_for(args)
    therapist = _therapist(asked.get("therapist", ""), by)
    return Choice(therapist, asked.get("stage"), asked.get("kind"), working)


def _therapist(said: str, by: Actor) -> uuid.UUID | Nobody | None:
    if said == "mine":
        return by.id
    if said in ("", NOBODY):
        return NOBODY if said else None
    try:
        return uuid.UUID(said)
    except ValueError:
        return None


def kind_words(kind: str) -> str:
    """'Few logged'."""
    return KINDS_SAID.get(kind, kind.replace("_", " ").capitalize())


def _group(row: dict[str, Any]) -> Group:
    group: Group = row["line"].line.group
    return group


def _row(line: Line, zone: str, now: datetime) -> dict[str, Any]:
    """One line with its words and little lines."""
    told = line.line.figures
    # That the phone is silent is told by its alert, while that is unsettled, with the same words.
    told_already = any(each.alert.kind == NO_CONTACT for each in line.alerts)
    found = map(_reason, told["reasons"])
    reasons = [r for r in found if r.code != NO_CONTACT or not told_already]
    alerts = [_alert(each, zone) for each in sorted(line.alerts, key=_urgency)]
    return {
        "line": line,
        "told": told,
        "alerts": alerts,
        "reasons": [reason_words(reason, zone) for reason in reasons],
        "dose": dose_line(told["doses"]),
        "pain": pain_line(told["pains"]),
        "pain_now": _last(told["pains"]),
    }


def _urgency(each: AlertLine) -> tuple[int, bool, datetime]:
    level = alert.LEVELS.index(each.alert.level)
    return (level, each.alert.state != "open", each.alert.clock_starts)


def _alert(each: AlertLine, zone: str) -> dict[str, Any]:
    headline, lines = alert.words(each.alert.kind, each.alert.figures, zone)
    return {"row": each.alert, "by": each.taken_by, "at": each.taken_at, "headline": headline,
            "lines": lines}  # fmt: skip


def _reason(row: dict[str, Any]) -> Reason:
    since, until = (datetime.fromisoformat(row[k]) if row[k] else None for k in ("since", "until"))
    return Reason(row["code"], since, until, row["said"])


def _last(pains: Sequence[Sequence[float]]) -> float | None:
    """The pain of today or yesterday; older ones are not what it is now."""
    recent = [pain for back, pain in pains if back <= 1]
    return recent[-1] if recent else None


def dose_line(doses: Iterable[Sequence[int]]) -> dict[str, str] | None:
    """Paths of the shown share by day, and of the space between the bounds."""
    points = [(_x(back), low, shown, high) for back, low, shown, high in doses]
    if len(points) < 2:
        return None
    upper = [(x, high) for x, _, _, high in points]
    lower = [(x, low) for x, low, _, _ in reversed(points)]
    shown = _path([(x, each) for x, _, each, _ in points])
    return {"shown": shown, "between": _path(upper + lower) + "Z"}


def pain_line(pains: Iterable[Sequence[float]]) -> str | None:
    points = [(_x(int(back)), 10 * pain) for back, pain in pains]
    return _path(points) if len(points) > 1 else None


def _x(back: int) -> float:
    return WIDTH - (back - 0.5) * WIDTH / DAYS if back else WIDTH


def _path(points: Iterable[tuple[float, float]]) -> str:
    return "M" + "L".join(_point(points))


def _point(points: Iterable[tuple[float, float]]) -> Iterator[str]:
    return (f"{x:.1f} {HEIGHT - 2 - share * (HEIGHT - 4) / 100:.1f}" for x, share in points)

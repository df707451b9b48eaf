"""Routes: the caseload, most in need first, and how its figures are worked out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import groupby
from typing import Any

from flask import Blueprint, redirect, render_template, request
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain import alert
from ..domain.caseload import GROUP_WORDS, Group, Reason, reason_words
from ..extensions import db
from ..storage import caseloads, clinics
from ..storage.caseloads import AlertLine, Line
from . import words
from .guard import current_actor, staff_only

bp = Blueprint("caseload", __name__)
bp.record_once(words.on_register)

WIDTH, HEIGHT, DAYS = 96, 32, 14  # of a little line: px, px, whole days


@bp.get("/")
def index() -> ResponseReturnValue:
    return redirect("/caseload")


@bp.get("/caseload")
@staff_only()
def caseload() -> ResponseReturnValue:
    """Fifty open courses, most in need first."""
    now, by = clock().now(), current_actor()
    number = max(1, request.args.get("page", 1, type=int))
    page = caseloads.page(db.session(), by.clinic_id, number, now)
    zone = clinics.clinic_of(db.session(), by.clinic_id).zone
    rows = [_row(line, zone, now) for line in page.lines]
    groups = [
        (group, GROUP_WORDS[group], page.counts[group], list(each))
        for group, each in groupby(rows, key=_group)
    ]
    return render_template("caseload/caseload.html", page=page, groups=groups, zone=zone, now=now)


@bp.get("/methods")
@staff_only()
def methods() -> ResponseReturnValue:
    """The definitions behind every figure, in short."""
    return render_template("caseload/methods.html")


def _group(row: dict[str, Any]) -> Group:
    group: Group = row["line"].line.group
    return group


def _row(line: Line, zone: str, now: datetime) -> dict[str, Any]:
    """One line with its words and little lines."""
    told = line.line.figures
    # That the phone is silent is told by its alert, with the same words.
    reasons = [r for r in map(_reason, told["reasons"]) if r.code != "no_contact"]
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

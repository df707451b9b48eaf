"""Routes: the page of one course, as a clinician reads it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain import alert, check
from ..domain.adherence import printed
from ..domain.timetable import course_day
from ..domain.wear import printed as wear_printed
from ..extensions import db
from ..services.review_course import WINDOWS, Review, read_log, review_course
from ..storage import clinics, scope
from ..storage.check_days import splint_wears
from ..storage.models import Alert, Course
from .figures import Picture, pictures_of
from .guard import current_actor, staff_only
from .tick_sheet import ONE, SHOWN, tick_sheet
from .words import HOLDS, STANDINGS

bp = Blueprint("review", __name__)

LOG_DAYS = (2, 14)  # course days of the log: at first, and when more is asked for
# Beside the tick sheet: where on the course's page a kind is seen too.
ALSO = {
    **dict.fromkeys(("average_pain", "splint_off", "second_day"), ("checks", "the daily check")),
    **dict.fromkeys(("pain_rise", "second_pain"), ("pain", "pain by day")),
    **dict.fromkeys(
        ("excess", "entered_later", "exercise_while_stopped", "not_started"), ("log", "the log")
    ),
    "visit_missed": ("visit", "the next visit"),
    "phase_not_released": ("visit", "the next visit"),
    "release_lapsed": ("plans", "revisions and releases"),
    "plan_not_received": ("plans", "revisions and releases"),
}
SECOND_EXTENSOR = frozenset({"index", "small"})  # EIP and EDM beside EDC


@bp.get("/courses/<course_id>")
@staff_only()
def course(course_id: str) -> ResponseReturnValue:
    """The course's page: header, tick sheet, figures, alerts, log."""
    now, by = clock().now(), current_actor()
    found = scope.get(db.session(), Course, by.clinic_id, course_id)
    review = review_course(db.session(), found, now)
    zone = clinics.clinic_of(db.session(), by.clinic_id).zone
    only = request.args.get("exercise", "")
    return render_template(
        "review/course.html",
        review=review, now=now, zone=zone, only=only, by=by,
        sheet=tick_sheet(review, now, request.args.get("days") == "all", only),
        exercises=exercises(review), doses=_doses(review), others=_others(review),
        wears=_wears(review, now), answer_words=check.answer_words, detail_words=check.detail_words,
        alerts=[told(review, each, zone) for each in review.alerts],
        log=read_log(db.session(), review, _log_days(), now), log_days=_log_days(),
        lifted=lifted(review), words={"standings": STANDINGS, "holds": HOLDS},
        done=alert.DONE, pictures=pictures_now(review),
    )  # fmt: skip


def pictures_now(review: Review) -> list[Picture] | None:
    """The pictures of the stage in force; None without one, or while the side is not entered."""
    if review.phase is None or review.revision is None:
        return None
    return pictures_of(review.course, review.revision, review.phase.key).get(review.phase.key)


def _log_days() -> int:
    return LOG_DAYS[1] if request.args.get("log") == "more" else LOG_DAYS[0]


def exercises(review: Review) -> dict[str, str]:
    """Names by key, of the regime in force; a key it no longer has names itself."""
    names = {row.exercise: row.exercise.replace("_", " ") for row in review.days}
    phases = review.regime.phases if review.regime else ()
    names |= {each.rehearsal.key: each.rehearsal.name for each in phases if each.rehearsal}
    return names | {each.key: each.name for phase in phases for each in phase.exercises}


def _doses(review: Review) -> list[tuple[str, str]]:
    """The leading exercise's figures as printed."""
    if review.phase is None or review.phase.leading is None:
        return []
    return [(words, printed(each)) for words, each in review.windows(review.phase.leading)]


def _wears(review: Review, now: datetime) -> list[tuple[str, str]]:
    """Splint wear over the last 3 and 7 whole days, and over the stage with today."""
    spans = {f"Last {n} whole days": (review.today - n * ONE, review.today - ONE) for n in WINDOWS}
    if review.phase_since is not None:
        began = course_day(review.settings, review.phase_since)
        spans["This stage, with today"] = (began, review.today)
    told = splint_wears(db.session(), review.course, review.settings, spans, now)
    return [(words, wear_printed(each)) for words, each in told.items()]


def _others(review: Review) -> list[tuple[str, list[str]]]:
    """The stage's other exercises: key and figures in the order of the leading one's."""
    if review.phase is None:
        return []
    keys = [e.key for e in review.phase.exercises if e.key != review.phase.leading]
    return [(key, [printed(each) for _, each in review.windows(key)]) for key in keys]


def told(review: Review, row: Alert, zone: str) -> dict[str, Any]:
    """An alert with its words and what happened to it, each with who did it."""
    headline, lines = alert.words(row.kind, row.figures, zone)
    events: list[dict[str, Any]] = [
        {"row": each, "by": review.names.get(each.by_id) if each.by_id else None}
        for each in review.events.get(row.id, [])
    ]
    return {
        "row": row, "headline": headline, "lines": lines, "events": events,
        "moved": next((e for e in reversed(events) if e["row"].what == row.state), None),
        "why": alert.why(row.kind, row.figures), "next": alert.next_step(row.kind, row.figures),
        "rule_works": alert.rule_works(row.kind, row.figures),
        "days": _days_link(review, row, zone), "also": ALSO.get(row.kind),
        "accept": (alert.ACCEPT, alert.ACCEPT_IS_SLOW) if row.kind in alert.CAN_ACCEPT else None,
        "unsettled": row.state in alert.UNSETTLED, "trouble": alert.is_trouble(row.kind),
    }  # fmt: skip


def _days_link(review: Review, row: Alert, zone: str) -> tuple[str, date] | None:
    """Where the tick sheet shows the first of the days an alert is about, and that day.

    None before a day of a led stage was summed up: there is no sheet.
    """
    if not _has_sheet(review):
        return None
    day = alert.first_day(row.figures, row.at, zone)
    whole = "?days=all" if day <= review.today - SHOWN * ONE else ""
    return f"/courses/{review.course.id}{whole}#day-{day.isoformat()}", day


def _has_sheet(review: Review) -> bool:
    if review.regime is None:
        return False
    stages = {each.phase for each in review.settings if each.phase}
    leading = {phase.leading for phase in review.regime.phases if phase.key in stages}
    return any(row.standings for row in review.days if row.exercise in leading)


def lifted(review: Review) -> list[str]:
    """Why a lifting finger may prove nothing in this hand."""
    digits = {row.digit for row in review.repairs if row.digit}
    band = review.phase.band if review.phase else None
    said = []
    if band and digits & set(band.digits):
        said.append("The band lifts this finger.")
    neighbour = any(row.zone == "VI" and row.structure == "EDC" for row in review.repairs)
    if neighbour or digits & SECOND_EXTENSOR:
        said.append("A neighbour or second tendon may lift it.")
    return said

"""Routes: the languages of the clinic's phones, read beside English, signed off, withdrawn."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from babel import Locale
from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.blueprints import BlueprintSetupState
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.errors import Conflict, Invalid
from ..extensions import db
from ..phrases import ENGLISH, LANGUAGES, RIGHT_TO_LEFT
from ..services.left_in_english import InEnglish, left_in_english
from ..services.read_language import Reading, read_language
from ..services.sign_language import sign_language, withdraw_language
from ..storage.clinics import clinic_of
from ..storage.languages import languages_on
from ..storage.models import Course
from ..storage.staff import names
from .guard import current_actor, staff_only

bp = Blueprint("languages", __name__)
NAMES = Locale(ENGLISH).languages


@bp.record
def on_register(state: BlueprintSetupState) -> None:
    """What every template may ask of languages."""
    state.app.jinja_env.filters["language_name"] = language_name
    state.app.jinja_env.globals["language_options"] = language_options
    state.app.jinja_env.globals["left_in_english"] = left_in


def language_name(code: str) -> str:
    """'Arabic' for ar."""
    return str(NAMES.get(code, code))


def language_options() -> list[tuple[str, str]]:
    """Every language a patient may speak: those that phones speak first."""
    on = languages_on(db.session(), current_actor().clinic_id, clock().now())
    ships = [code for code in LANGUAGES if code not in on]
    others = {c: n for c, n in NAMES.items() if len(c) == 2 and c not in LANGUAGES}
    return [
        *((code, f"{NAMES[code]}: phones speak it") for code in on),
        *((code, f"{NAMES[code]}: phones are in English, print it beside") for code in ships),
        *sorted(others.items(), key=lambda each: each[1]),
    ]


def left_in(course: Course) -> InEnglish | None:
    """What the course's patient is shown in English though they speak something else."""
    return left_in_english(db.session(), course, clock().now())


@bp.get("/clinic/languages")
@staff_only()
def listing() -> ResponseReturnValue:
    where, now, session = current_actor().clinic_id, clock().now(), db.session()
    readings = [read_language(session, where, code, now) for code in LANGUAGES if code != ENGLISH]
    return render_template("languages/list.html", readings=readings, **_beside(readings))


@bp.get("/clinic/languages/<language>")
@staff_only()
def page(language: str) -> ResponseReturnValue:
    return _page(language, {}, 200)


def _page(language: str, errors: dict[str, list[str]], status: int) -> ResponseReturnValue:
    where = current_actor().clinic_id
    read = read_language(db.session(), where, language, clock().now())
    page = render_template(
        "languages/language.html", read=read, errors=errors, form=request.form,
        direction="rtl" if language in RIGHT_TO_LEFT else "ltr", **_beside([read]),
    )  # fmt: skip
    return page, status


def _beside(readings: Iterable[Reading]) -> dict[str, Any]:
    """Names of who signed, and the clinic's zone."""
    where, session = current_actor().clinic_id, db.session()
    signers = [read.step.by_id for read in readings if read.step]
    return {"names": names(session, where, signers), "zone": clinic_of(session, where).zone}


@bp.post("/clinic/languages/<language>/sign-off")
@staff_only()
def sign_off(language: str) -> ResponseReturnValue:
    form, now = request.form, clock().now()
    digest, reader = form.get("digest", ""), form.get("reader", "")
    try:
        sign_language(db.session(), current_actor(), language, digest, reader, now)
    except (Invalid, Conflict) as wrong:
        db.session.rollback()
        return _page(language, wrong.fields or {"reader": [wrong.message]}, 422)
    db.session.commit()
    return _done(language, f"{language_name(language)} is on. Phones speak it at their next look.")


@bp.post("/clinic/languages/<language>/withdrawal")
@staff_only()
def withdraw(language: str) -> ResponseReturnValue:
    withdraw_language(db.session(), current_actor(), language, clock().now())
    db.session.commit()
    return _done(language, f"{language_name(language)} is off. Phones go back to English.")


def _done(language: str, words: str) -> ResponseReturnValue:
    flash(words, "kept")
    return redirect(url_for("languages.page", language=language), 303)

"""Routes: how alerts are told, by kind and for the whole clinic; a manager sets them."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..domain.alert import KINDS, is_trouble
from ..domain.alert.settings import LEVEL_WORDS, LONGEST_LIST, ClinicSetting, KindSetting
from ..domain.errors import Invalid
from ..extensions import db
from ..services.set_alerts import set_alert_clinic, set_alert_kind
from ..storage import alert_settings as stored
from ..storage import staff
from .caseload import kind_words
from .guard import current_actor, staff_only

bp = Blueprint("alert_settings", __name__)
HERE = "/alert-settings"


@bp.get("/alert-settings")
@staff_only("manager")
def page() -> ResponseReturnValue:
    """Every kind in a line; one of them, or the whole clinic, opened to be set."""
    return _page(request.args.get("kind", ""), None, {})


@bp.post("/alert-settings")
@staff_only("manager")
def set_kind() -> ResponseReturnValue:
    """Set one kind."""
    kind = request.form.get("kind", "")
    try:
        set_alert_kind(db.session(), current_actor(), kind, _given(), clock().now())
    except Invalid as wrong:
        db.session.rollback()
        return _page(kind, _given(), wrong.fields)
    db.session.commit()
    flash(f"{kind_words(kind)}: saved.")
    return redirect(HERE, 303)


@bp.post("/alert-settings/clinic")
@staff_only("manager")
def set_clinic() -> ResponseReturnValue:
    """Set the list, the times and the digest."""
    try:
        set_alert_clinic(db.session(), current_actor(), _given(), clock().now())
    except Invalid as wrong:
        db.session.rollback()
        return _page("", _given(), wrong.fields)
    db.session.commit()
    flash("Saved for the whole clinic.")
    return redirect(HERE, 303)


def _given() -> dict[str, Any]:
    """The form, the people in order."""
    said: dict[str, Any] = request.form.to_dict()
    return said | {"people": request.form.getlist("people")}


def _page(
    kind: str, given: dict[str, Any] | None, errors: dict[str, list[str]]
) -> ResponseReturnValue:
    by, now, session = current_actor(), clock().now(), db.session()
    settings = stored.settings_of(session, by.clinic_id, now)
    whole = stored.whole_clinic(session, by.clinic_id, now)
    people = [(str(each.id), each.name) for each in staff.watchers(session, by.clinic_id, now)]
    names = dict(people)
    chosen = kind if kind in KINDS and not is_trouble(kind) else None
    page = render_template(
        "alert_settings/alert_settings.html",
        rows=[(k, kind_words(k), is_trouble(k), settings[k], _listed(settings[k], names))
              for k in KINDS],
        kind=chosen, kind_name=kind_words(kind),
        whole=whole, whole_names=[names.get(each, "somebody who left") for each in whole.people],
        people=people, places=range(LONGEST_LIST), levels=LEVEL_WORDS,
        form=given if chosen and given else _kind_form(settings[chosen]) if chosen else {},
        whole_form=given if given and not chosen else _whole_form(whole),
        errors=errors,
    )  # fmt: skip
    return page, 422 if errors else 200


def _listed(setting: KindSetting, names: dict[str, str]) -> list[str] | None:
    if setting.people is None:
        return None
    return [names.get(each, "somebody who left") for each in setting.people]


def _kind_form(setting: KindSetting) -> dict[str, Any]:
    quiet = setting.quiet or (None, None)
    return {
        "on": setting.on, "level": setting.level, "therapist_first": setting.therapist_first,
        "people": list(setting.people or ()), "quiet_from": _hhmm(quiet[0]),
        "quiet_to": _hhmm(quiet[1]),
    }  # fmt: skip


def _whole_form(whole: ClinicSetting) -> dict[str, Any]:
    return {
        "people": list(whole.people), "now_minutes": whole.now_minutes,
        "today_hours": whole.today_hours, "digest_at": _hhmm(whole.digest_at),
        "webhook_wakes": whole.webhook_wakes,
    }  # fmt: skip


def _hhmm(at: Any) -> str:
    return f"{at:%H:%M}" if at is not None else ""

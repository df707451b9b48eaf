"""Who is signed in. Every page is refused to strangers unless it stands in the public list."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import Any, TypeVar, cast

from flask import Response, abort, current_app, g, redirect, request, url_for
from flask.typing import ResponseReturnValue
from flask_login import UserMixin, current_user
from sqlalchemy.orm import Session

from ..clock import clock
from ..domain.clock import local
from ..domain.hours import MONTHS, WEEKDAYS
from ..extensions import db, login
from ..services.actor import Actor, Role, require_role
from ..services.sign_in import SEEN_EVERY, seen, signed_in
from ..storage import staff as stored
from ..storage.models import Clinic, Staff, StaffSession

PUBLIC_BLUEPRINTS = frozenset({
    "phone_api", "phone_setup", "phone_words", "pairings", "phone_shell", "health", "sign_in",
})  # fmt: skip
PUBLIC_ENDPOINTS = frozenset({"static", "api-docs.openapi_json"})
ROLE_WORDS = {"enroller": "enroller", "therapist": "therapist", "manager": "manager"}
View = TypeVar("View", bound=Callable[..., Any])


class SignedIn(UserMixin):  # type: ignore[misc]
    """A staff member with the sign-in their cookie belongs to."""

    def __init__(
        self, staff: Staff, clinic: Clinic, row: StaffSession, actor: Actor, now: datetime
    ) -> None:
        self.id = str(staff.id)
        self.staff = staff
        self.clinic = clinic
        self.row = row
        self.actor = actor
        self.now = now  # of the request: a page says one time of day


def cookie_name() -> str:
    """`__Host-` binds the cookie to this origin; browsers take it over https only."""
    https = current_app.config["HOMEPROG"].https
    return "__Host-homeprog-staff" if https else "homeprog_staff"


def give_cookie(answer: Response, token: str) -> Response:
    answer.set_cookie(
        cookie_name(),
        token,
        httponly=True,
        samesite="Lax",
        secure=current_app.config["HOMEPROG"].https,
        path="/",
    )
    return answer


def take_cookie(answer: Response) -> Response:
    answer.delete_cookie(
        cookie_name(), path="/", httponly=True, samesite="Lax",
        secure=current_app.config["HOMEPROG"].https,
    )  # fmt: skip
    return answer


@login.request_loader
def load(_request: object) -> SignedIn | None:
    """The staff member of the request's cookie; None for strangers."""
    token = request.cookies.get(cookie_name())
    found = signed_in(db.session(), token, clock().real()) if token else None
    if found is None:
        return None
    row, staff, clinic = found
    now = clock().now()
    if staff.ended_at and staff.ended_at <= now:
        return None
    mark = stored.profession(db.session(), staff.id, now)
    actor = Actor(staff.clinic_id, "staff", staff.id, cast(Role, staff.role), mark)
    _note_seen(row)
    return SignedIn(staff, clinic, row, actor, now)


def _note_seen(row: StaffSession) -> None:
    """In a transaction of its own: a page that is only read must not hold the write lock."""
    real = clock().real()
    if request.method == "GET" and real - row.last_seen >= SEEN_EVERY:
        with Session(db.engine) as apart:
            seen(apart, row.id, real)
            apart.commit()
    elif request.method != "GET":
        row.last_seen = real


def refuse_strangers() -> ResponseReturnValue | None:
    """Before every request: strangers get the sign-in page (401 under /api/)."""
    if request.endpoint is None or _is_public():
        return None
    if not current_user.is_authenticated:
        if request.path.startswith("/api/"):
            abort(401, "Sign in first.")
        wanted = request.full_path.rstrip("?") if request.method == "GET" else None
        return redirect(url_for("sign_in.form", next=wanted), 303)
    if current_user.staff.must_change:
        if request.path.startswith("/api/"):
            abort(403, "Change your one-time password first.")
        return redirect(url_for("sign_in.password_form"), 303)
    return None


def _is_public() -> bool:
    return request.endpoint in PUBLIC_ENDPOINTS or request.blueprint in PUBLIC_BLUEPRINTS


def current_actor() -> Actor:
    """The staff member who acts; 401 for a stranger."""
    if not current_user.is_authenticated:
        abort(401, "Sign in first.")
    return cast(Actor, current_user.actor)


def staff_only(*roles: Role) -> Callable[[View], View]:
    """Refuse a view to staff without one of `roles`; no roles: any staff member."""

    def wrap(view: View) -> View:
        @wraps(view)
        def guarded(*args: Any, **kwargs: Any) -> Any:
            actor = current_actor()
            if roles:
                require_role(actor, *roles)
            return view(*args, **kwargs)

        return cast(View, guarded)

    return wrap


def local_path(wanted: str | None) -> str:
    """A path of this site, or the caseload: a link must not send staff elsewhere.

    Browsers drop tabs and newlines, and read a backslash as a slash, before they look for '//'.
    """
    path = wanted or ""
    odd = "\\" in path or any(ord(letter) < 33 for letter in path)
    return "/caseload" if odd or not path.startswith("/") or path.startswith("//") else path


def for_templates() -> dict[str, Any]:
    """`who`, `clinic` and `clock_words` of base.html; None while signed out."""
    known = getattr(g, "_login_user", None)  # an error page must not query again
    if known is None or not known.is_authenticated:
        return {"who": None, "clinic": None, "clock_words": None}
    clinic = known.clinic
    return {
        "who": {
            "name": known.staff.name,
            "words": f"{known.staff.name}, {_place(known.actor)}",
            "clinician": known.actor.clinician,
            "therapist": known.actor.role == "therapist",
            "manager": known.actor.role == "manager",
        },
        "clinic": {"name": clinic.name, "demo": clinic.demo},
        "clock_words": clock_words(clinic.zone, known.now),
    }


def _place(actor: Actor) -> str:
    if actor.profession:
        return actor.profession.replace("_", " ")
    return ROLE_WORDS.get(actor.role or "", "")


def clock_words(zone: str, now: datetime) -> str:
    """'Friday 5 June 2026, 14:10' in the clinic's zone."""
    wall = local(now, zone)
    day = f"{WEEKDAYS[wall.weekday()]} {wall.day} {MONTHS[wall.month - 1]} {wall.year}"
    return f"{day}, {wall.hour}:{wall.minute:02}"

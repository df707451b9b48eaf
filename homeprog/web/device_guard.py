"""Which phone is calling: its cookie, its CSRF word, and what it may still do."""

from __future__ import annotations

import hmac
from collections.abc import Callable
from datetime import timedelta
from functools import wraps
from typing import ParamSpec, TypeVar

from flask import Response, current_app, g, request

from ..clock import clock
from ..config import Config
from ..domain.errors import Forbidden, HomeprogError
from ..extensions import db
from ..services.actor import Actor
from ..services.pair_phone import csrf_for, hashed
from ..storage.clinics import setting
from ..storage.contacts import Caller, caller
from ..storage.engine import begin_reading, end_reading
from ..storage.models import Device

P = ParamSpec("P")
R = TypeVar("R")

COOKIE_LASTS = timedelta(days=400)  # browsers keep none longer
WRITES = frozenset({"POST", "PUT", "PATCH", "DELETE"})


class NotPaired(HomeprogError):
    """`code` is not_paired, device_revoked or device_replaced."""

    status = 401


def device_only(view: Callable[P, R]) -> Callable[P, R]:
    """Only a paired phone may call; writing calls carry its CSRF word."""

    @wraps(view)
    def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
        if request.method in WRITES:
            g.caller = _seen()
            _check_csrf(g.caller.device)
        else:
            g.caller = _caller()
        return view(*args, **kwargs)

    return guarded


def sender_only(view: Callable[P, R]) -> Callable[P, R]:
    """As `device_only`, and a phone whose place its own app took may send what it still holds."""

    @wraps(view)
    def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
        g.caller = _seen(replaced=True)
        _check_csrf(g.caller.device)
        return view(*args, **kwargs)

    return guarded


def open_course_only(view: Callable[P, R]) -> Callable[P, R]:
    """Not for a phone whose patient's last course is closed. Stands inside `device_only`."""

    @wraps(view)
    def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
        if g.caller.over_since is not None:
            raise Forbidden("course_closed", "The plan is finished.")
        return view(*args, **kwargs)

    return guarded


def current_device() -> Device:
    """The phone that calls."""
    found: Caller = g.caller
    return found.device


def device_actor() -> Actor:
    """The phone that calls, as whoever acts."""
    device = current_device()
    return Actor(device.clinic_id, "device", device.id)


def paired_device() -> Device | None:
    """The phone whose cookie came along, if it is paired; for the claim of a pairing."""
    token = request.cookies.get(_cookie_name())
    found = caller(db.session(), hashed(token)) if token else None
    return found.device if found and found.device.ended_at is None else None


def csrf_of(device: Device) -> str:
    """The word that writing calls of this phone carry."""
    assert device.token_hash is not None
    return csrf_for(device.token_hash, _config().secret_key)


def _seen(replaced: bool = False) -> Caller:
    """The caller, read before the write begins: what a phone sent is checked while others write."""
    session = db.session()
    begin_reading(session)
    found = _caller(replaced)
    end_reading(session, found.device)
    return found


def _caller(replaced: bool = False) -> Caller:
    """Who calls. `replaced` lets in a phone whose place was taken, as after the last course."""
    now = clock().now()
    token = request.cookies.get(_cookie_name())
    found = caller(db.session(), hashed(token)) if token else None
    if found is None:
        raise NotPaired("not_paired", "This phone is not paired.")
    ended, over = found.device.ended_at, found.over_since
    taken = ended is not None and found.device.ended_how == "replaced"
    if taken and ended and not (replaced and now < ended + _after_closing(found.device)):
        raise NotPaired("device_replaced", "The app on this phone's home screen took its place.")
    if (ended and not taken) or (over and now >= over + _after_closing(found.device)):
        raise NotPaired("device_revoked", "This phone is no longer connected to the clinic.")
    return found


def _after_closing(device: Device) -> timedelta:
    """How long a phone may still send and read whom to ring."""
    now = clock().now()
    return timedelta(days=setting(db.session(), device.clinic_id, "device_after_closing_days", now))


def _check_csrf(device: Device) -> None:
    told = request.headers.get("X-CSRF-Token", "")
    if not hmac.compare_digest(told.encode(), csrf_of(device).encode()):
        raise Forbidden("csrf", "The X-CSRF-Token header is missing or wrong.")


def set_cookie(answer: Response, token: str) -> None:
    """Give the phone its token: no script reads it, no other site sends it."""
    answer.set_cookie(
        _cookie_name(),
        token,
        max_age=COOKIE_LASTS,
        secure=_config().https,
        httponly=True,
        samesite="Strict",
        path="/",
    )


def drop_cookie(answer: Response) -> None:
    answer.delete_cookie(
        _cookie_name(), path="/", secure=_config().https, httponly=True, samesite="Strict"
    )


def _cookie_name() -> str:
    return "__Host-homeprog" if _config().https else "homeprog_phone"


def _config() -> Config:
    found: Config = current_app.config["HOMEPROG"]
    return found

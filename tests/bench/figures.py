"""Drawing every picture of a course of six stages, over making its page without pictures."""

from __future__ import annotations

import importlib
import pkgutil
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from unittest.mock import patch

from sqlalchemy.orm import Session

from homeprog.config import read_config
from homeprog.domain import figure
from homeprog.domain.regime import Regime
from homeprog.factory import create_app
from homeprog.services.adopt_template import starting_point
from homeprog.services.draw_figures import Hand, draw_stage
from homeprog.services.sign_in import sign_in
from homeprog.storage.models import Clinic, Course
from homeprog.web import review

from .. import cast
from ..house import House, paired_with_history
from ..regime_cast import DYNAMIC

ROUNDS = 15  # of each, in turns
STAGES = 6
DAYS = 42  # of logs: the sixth stage begins no earlier
COOKIE = "__Host-homeprog-staff"
HAND = Hand("left", ("middle",), "VI")


def drawing_figures(folder: Path) -> Iterator[tuple[str, float, str, float]]:
    """(name, value, unit, most allowed)."""
    house = House(folder)
    house.lay()
    engine = house.engine()
    with Session(engine) as db:
        path, token = a_course(db, datetime.now(UTC))
        db.commit()
    engine.dispose()
    regime = starting_point(DYNAMIC).regime
    with patch.object(review, "pictures_now", lambda _review: None):
        value = drawn_over_page(page_of(house, path, token), regime)
    yield "figures_of_6_stages_over_the_course_page_without", value, "ratio", 1.0


def a_course(db: Session, now: datetime) -> tuple[str, str]:
    """The path of a course with logs, and the cookie of a therapist of its clinic."""
    course = db.get_one(Course, paired_with_history(db, now, DAYS).course)
    where = db.get_one(Clinic, course.clinic_id)
    who = cast.staff(db, where, now - timedelta(days=1))
    _, token = sign_in(db, who.sign_in, cast.PASSWORD, now)
    return f"/courses/{course.id}", token


def page_of(house: House, path: str, token: str) -> Callable[[], None]:
    """Asks this process for the page."""
    client = create_app(read_config(house.env())).test_client()
    client.set_cookie(COOKIE, token, domain="127.0.0.1", secure=True)

    def ask() -> None:
        answer = client.get(path, base_url=f"https://127.0.0.1:{house.port}")
        assert answer.status_code == 200, answer.status
        assert "Prescribed now" in answer.text

    return ask


def drawn_over_page(ask: Callable[[], None], regime: Regime) -> float:
    """Median time of drawing, with nothing kept from before, over that of the page."""
    ask()  # what is read once in a process
    drawing, page = [], []
    for _ in range(ROUNDS):
        forget()
        drawing.append(taken(lambda: draw(regime)))
        page.append(taken(ask))
    return median(drawing) / median(page)


def draw(regime: Regime) -> None:
    assert all(draw_stage(stage, HAND) for stage in regime.phases[:STAGES])


def taken(what: Callable[[], None]) -> float:
    begun = time.process_time()
    what()
    return time.process_time() - begun


def forget() -> None:
    """Empty every cache of the pictures' own modules."""
    for found in pkgutil.iter_modules(figure.__path__, figure.__name__ + "."):
        for each in vars(importlib.import_module(found.name)).values():
            if hasattr(each, "cache_clear"):
                each.cache_clear()

"""The picture of a prescription: its address, and what a page needs to show it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Any
from xml.sax.saxutils import escape

from flask import Blueprint, Response, current_app, request, url_for
from flask.typing import ResponseReturnValue

from ..clock import clock
from ..config import ROOT
from ..domain.errors import NotFound
from ..domain.figure import Figure
from ..domain.regime import Phase, Regime
from ..extensions import db
from ..services.draw_figures import Hand, draw_stage, draw_strip, hand_of, stages_typed
from ..storage import courses, regimes, timelines
from ..storage.models import Course, Revision, Template
from .guard import current_actor, staff_only
from .packed import bare

bp = Blueprint("figures", __name__)

POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"
FOR_GOOD = "private, max-age=31536000, immutable"
ASKED_AFTER = "private, no-cache"
VIEW_BOX = re.compile(r'viewBox="\S+ \S+ (\S+) (\S+)"')
# A picture in a file of its own carries the style that pages give it.
SHEETS = (ROOT / "static" / "css" / name for name in ("tokens.css", "figure.css"))
STYLE = f"<style>{escape(''.join(bare(each.read_text(), 'text/css') for each in SHEETS))}</style>"
LOOK = sha256(STYLE.encode()).hexdigest()[:8]
ANY_HAND = Hand("right")  # what a template is drawn for


@dataclass(frozen=True, slots=True)
class Picture:
    """A figure on a page. `src` None: not stored, so the drawing stands in the page."""

    figure: Figure
    src: str | None
    exercise: str | None  # its name, where one is shown

    @property
    def size(self) -> tuple[str, str]:
        """Width and height of the drawing: the page keeps room for it before it arrives."""
        box = VIEW_BOX.search(self.figure.svg)
        return (box[1], box[2]) if box else ("320", "200")


Pictures = Mapping[str, list[Picture]]  # by the key of the stage
Where = Mapping[str, Any]  # what url_for is given of an address


@bp.get("/courses/<course_id>/figure")
@staff_only()
def of_course(course_id: str) -> ResponseReturnValue:
    """?revision=, stage= and key= choose; without them the first picture of what is in force."""
    session, now = db.session(), clock().now()
    course = courses.by_id(session, current_actor().clinic_id, course_id)
    hand, regime = hand_of(session, course, now), _regime(course)
    if hand is None or regime is None:
        raise NotFound("figure")
    phase = timelines.phase_in_force(session, course, now)
    return answer(regime, hand, phase.key if phase else None)


def _regime(course: Course) -> Regime | None:
    """Of the revision asked for, else of the one in force."""
    now, asked = clock().now(), request.args.get("revision")
    if asked is None:
        found = timelines.regime_in_force(db.session(), course, now)
        return found[1] if found else None
    kept = regimes.revisions(db.session(), course, now)
    bodies = (regimes.regime_of(row.body) for row in kept if str(row.number) == asked)
    return next(bodies, None)


def answer(regime: Regime, hand: Hand, stage: str | None = None) -> Response:
    """The picture that ?stage= and key= name; the first of `stage` where they are left out.

    shape=strip: a movement in three steps, as on paper.
    """
    wanted, key = request.args.get("stage", stage), request.args.get("key")
    phase = regime.phases[0] if wanted is None else regime.phase(wanted)
    drawn = draw_stage(phase, hand) if phase else ()
    found = next((each for each in drawn if key in (None, each.key)), None)
    if phase is None or found is None:
        raise NotFound("figure")
    if request.args.get("shape") == "strip":
        return _as_image(draw_strip(phase, hand, found.key) or found.svg, False)
    return _as_image(found.svg, request.args.get("v") == _version(found))


def _version(figure: Figure) -> str:
    """Changes with what is drawn and with how it looks."""
    return figure.hash + LOOK


def _as_image(svg: str, for_good: bool) -> Response:
    """Kept for good under the address of what it shows; under any other it is asked after."""
    text = svg.replace("</desc>", f"</desc>{STYLE}", 1)
    made = current_app.response_class(text, mimetype="image/svg+xml")
    made.headers["Content-Security-Policy"] = POLICY
    made.headers["Cache-Control"] = FOR_GOOD if for_good else ASKED_AFTER
    made.headers["Vary"] = "Cookie"  # whoever signs in next asks anew
    made.set_etag(sha256(text.encode()).hexdigest()[:16])
    made.make_conditional(request)
    return made


def pictures_of(course: Course, row: Revision, stage: str | None = None) -> Pictures:
    """A course's pictures of a revision, of one stage where it is named.

    None at all while the side is not entered.
    """
    where = {"endpoint": "figures.of_course", "course_id": course.id, "revision": row.number}
    wanted = (each for each in _stages(row.body) if stage in (None, each.key))
    return _pictures(wanted, _hand(course), where)


def pictures_of_template(row: Template, course: Course) -> Pictures:
    """A template's pictures for the course's side."""
    hand = _hand(course)
    return pictures_at(row.body, str(row.id), Hand(hand.side)) if hand else {}


def pictures_at(body: dict[str, Any], template_id: str, hand: Hand = ANY_HAND) -> Pictures:
    """The pictures of a template by its id, or of a starting point by its key."""
    where = {"endpoint": "templates.figure", "template_id": template_id, "side": hand.side}
    return _pictures(_stages(body), hand, where)


def pictures_of_typed(course: Course, body: Mapping[str, Any]) -> Pictures:
    """A course's pictures of a body as typed, for each stage without a fault."""
    return _pictures(stages_typed(body), _hand(course), None)


def _stages(body: dict[str, Any]) -> tuple[Phase, ...]:
    return regimes.regime_of(body).phases


def _hand(course: Course) -> Hand | None:
    return hand_of(db.session(), course, clock().now())


def _pictures(stages: Iterable[Phase], hand: Hand | None, where: Where | None) -> Pictures:
    if hand is None:
        return {}
    return {
        stage.key: [_picture(stage, each, where) for each in draw_stage(stage, hand)]
        for stage in stages
    }


def _picture(stage: Phase, figure: Figure, where: Where | None) -> Picture:
    src = (
        None
        if where is None
        else url_for(**where, stage=stage.key, key=figure.key, v=_version(figure))
    )
    shown = stage.exercise(figure.exercise)
    return Picture(figure, src, shown.name if shown else None)

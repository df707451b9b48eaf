"""Regimes and facts for the tests: factories that state only what matters."""

from __future__ import annotations

import copy
import json
from datetime import date
from pathlib import Path
from typing import Any

from homeprog.domain.regime import (
    Finding,
    Reasons,
    Regime,
    Repair,
    RepairFacts,
    check,
    parse,
)

ROOT = Path(__file__).resolve().parents[2] / "homeprog" / "starting_points"
TEMPLATES = (
    "static-then-dynamic",
    "early-controlled-active",
    "static-several-tendons",
    "blank-frame",
)
Json = dict[str, Any]
EDC_MIDDLE_VI = Repair("EDC", "VI", "middle")
EDC_MIDDLE_VII = Repair("EDC", "VII", "middle")
ECRB_VII = Repair("ECRB", "VII")


def document(key: str) -> Json:
    """A shipped starting point, as its file holds it."""
    loaded: Json = json.loads((ROOT / "regimes" / f"{key}.json").read_text())
    return loaded


def body(key: str = "static-then-dynamic") -> Json:
    return copy.deepcopy(document(key)["body"])


def regime(key: str = "static-then-dynamic") -> Regime:
    return parse(body(key))


def set_at(target: Json, path: str, value: object) -> Json:
    """The same body with one field, 'phases.2.splint.worn', set."""
    *way, last = path.split(".")
    place: Any = target
    for step in way:
        place = place[int(step)] if isinstance(place, list) else place[step]
    place[int(last) if isinstance(place, list) else last] = value
    return target


def facts(*repairs: Repair, **more: Any) -> RepairFacts:
    return RepairFacts(date(2026, 3, 2), "left", repairs or (EDC_MIDDLE_VI,), **more)


def found(
    target: Json,
    about: RepairFacts | None = None,
    template: str | None = None,
    reasons: Reasons | None = None,
) -> list[Finding]:
    """Findings on a body, beside the template it was started from."""
    key = template or target["template"]
    model = regime(key) if key else None
    return check(parse(target), model, about, reasons or {})


def rules(findings: list[Finding], severity: str | None = None) -> set[tuple[str, str]]:
    """(rule, field) of the findings, of one severity."""
    return {(f.rule, f.field) for f in findings if severity in (None, f.severity)}


def exercise(**more: Any) -> Json:
    """An exercise as JSON: active bending and straightening of the middle finger, 4 a day."""
    plain: Json = {
        "key": "extra",
        "name": "Extra",
        "steps": ["Curl slowly."],
        "dose": {"amount": 10, "unit": "times"},
        "schedule": {"kind": "times_a_day", "times": 4},
        "motion": "active",
        "digits": ["middle"],
        "joints": ["MCP"],
        "with_splint": "",
        "held_until_release": False,
        "daily_total": None,
    }
    return {**plain, **more}

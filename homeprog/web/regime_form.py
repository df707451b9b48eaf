"""A regime as plain form fields, and back: each field is named by its path in the body."""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from werkzeug.datastructures import MultiDict

from ..domain.course import DIGITS, WORN
from ..domain.regime.body import COMES_OFF, DIRECTIONS

Kind = Literal["text", "area", "number", "choice", "tick", "many", "times"]
Options = tuple[tuple[str, str], ...]
Errors = Mapping[str, list[str]]


def _words(known: tuple[str, ...]) -> Options:
    return tuple((each, each.replace("_", " ")) for each in known)


UNITS: Options = (("times", "times"), ("minutes", "minutes"))
SCHEDULES: Options = (
    ("every", "every so many minutes"),
    ("times_a_day", "so many times a day"),
    ("at", "at times of day"),
)


@dataclass(frozen=True, slots=True)
class Field:
    """One input. `at` is the path in the body."""

    at: str
    label: str
    kind: Kind
    options: Options = ()

    @property
    def name(self) -> str:
        return self.at


@dataclass(frozen=True, slots=True)
class Part:
    """A fieldset: a phase, a position, an exercise."""

    at: str
    legend: str
    fields: list[Field]
    parts: list[Part] = field(default_factory=list)


def parts_of(body: Mapping[str, Any]) -> list[Part]:
    """The fieldsets of a regime, phase by phase."""
    return [_phase(f"phases.{n}", n, phase) for n, phase in enumerate(body["phases"])]


def _phase(at: str, number: int, phase: Mapping[str, Any]) -> Part:
    leading = tuple((each["key"], each["name"]) for each in phase["exercises"])
    fields = [
        Field(f"{at}.earliest_day", "Earliest day after the operation", "number"),
        Field(f"{at}.splint.worn", "Worn", "choice", _words(WORN)),
        Field(f"{at}.splint.words", "Splint, in the patient's words", "text"),
        Field(f"{at}.splint.holds", "Digits held in it", "many", _words(DIGITS)),
        Field(f"{at}.wear.by_day", "Worn by day", "tick"),
        Field(f"{at}.wear.by_night", "Worn at night", "tick"),
        Field(f"{at}.wear.outdoors", "Worn outdoors", "tick"),
        Field(f"{at}.wear.comes_off", "May come off", "many", _words(COMES_OFF)),
        Field(f"{at}.wear.words", "Wear, in the patient's words", "text"),
        Field(f"{at}.leading", "Leading exercise (none: splint wear leads)", "choice", leading),
        Field(f"{at}.cautions", "Cautions, one a line, the first is the top one", "area"),
        Field(f"{at}.forbidden", "Forbidden, one a line", "area"),
        Field(f"{at}.check.active_extension_allowed", "Asks: do the fingers lift?", "tick"),
        Field(f"{at}.check.band_lifts", "Asks: does the band lift?", "tick"),
        Field(f"{at}.check.after_dressing", "Asks: is the wound dry?", "tick"),
        *(_stop(at, digit) for digit in DIGITS),
        *(_broken(at) if phase.get("band") else ()),
    ]
    return Part(at, f"Stage {number}: {phase['name']}", fields, list(_inner(at, phase)))


def _stop(at: str, digit: str) -> Field:
    label = f"Flexion stop at the big knuckle, {digit}, degrees"
    return Field(f"{at}.flexion_limits.{digit}", label, "number")


def _broken(at: str) -> Iterator[Field]:
    for when, words in (("day", "by day"), ("night", "at night")):
        yield Field(f"{at}.band.broken_by_{when}", f"What to do with a broken band {words}", "text")


def _inner(at: str, phase: Mapping[str, Any]) -> Iterator[Part]:
    for number, position in enumerate(phase["positions"]):
        yield _position(f"{at}.positions.{number}", position)
    for number, exercise in enumerate(phase["exercises"]):
        yield _exercise(f"{at}.exercises.{number}", exercise)


def _position(at: str, position: Mapping[str, Any]) -> Part:
    digits = f" of {', '.join(position['digits'])}" if position["digits"] else ""
    how = "moves" if position.get("moves") else "is held"
    fields = []
    for end in ("from", "to"):
        fields.append(Field(f"{at}.{end}.degrees", f"{end}, degrees", "number"))
        fields.append(Field(f"{at}.{end}.direction", f"{end}, of", "choice", _words(DIRECTIONS)))
    return Part(at, f"{position['joint']}{digits} {how}", fields)


def _exercise(at: str, exercise: Mapping[str, Any]) -> Part:
    fields = [
        Field(f"{at}.dose.amount", "Dose", "number"),
        Field(f"{at}.dose.unit", "Unit", "choice", UNITS),
        Field(f"{at}.schedule.kind", "How often", "choice", SCHEDULES),
        Field(f"{at}.schedule.every", "Every, minutes", "number"),
        Field(f"{at}.schedule.times", "Times a day", "number"),
        Field(f"{at}.schedule.at", "At, like 08:00, 12:30", "times"),
        Field(f"{at}.digits", "Exercising digits", "many", _words(DIGITS)),
        Field(f"{at}.steps", "Steps, one a line", "area"),
        Field(f"{at}.with_splint", "What the splint does", "text"),
        Field(f"{at}.held_until_release", "Held until it is released apart", "tick"),
        Field(f"{at}.leave_out", "Leave this exercise out", "tick"),
    ]
    return Part(at, f"Exercise: {exercise['name']}", fields)


def every_field(parts: list[Part]) -> Iterator[Field]:
    for part in parts:
        yield from part.fields
        yield from every_field(part.parts)


def typed(body: Mapping[str, Any]) -> dict[str, Any]:
    """What the fields show: text, or a list where several may be ticked."""
    return {each.name: _shown(each, _get(body, each.at)) for each in every_field(parts_of(body))}


def _shown(each: Field, value: Any) -> Any:
    if value is None:
        return [] if each.kind == "many" else ""
    if each.kind == "area":
        return "\n".join(value)
    if each.kind == "times":
        return ", ".join(value)
    return value


def edited(body: Mapping[str, Any], form: MultiDict[str, str]) -> dict[str, Any]:
    """The body with what was typed; what is no number stays as typed, to be refused by its path."""
    changed = copy.deepcopy(dict(body))
    for each in every_field(parts_of(body)):
        _set(changed, each.at, _read(each, form))
    for phase in changed["phases"]:
        _tidy(phase)
    return changed


def _read(each: Field, form: MultiDict[str, str]) -> Any:
    if each.kind == "many":
        return form.getlist(each.name)
    text = form.get(each.name, "").strip()
    if each.kind == "tick":
        return text == "yes"
    if each.kind == "area":
        return [line.strip() for line in text.splitlines() if line.strip()]
    if each.kind == "times":
        return re.split(r"[\s,;]+", text) if text else []
    if each.kind == "number":
        return int(text) if re.fullmatch(r"\d{1,6}", text) else text or None
    return text if each.kind == "text" else text or None


def _tidy(phase: dict[str, Any]) -> None:
    """Only what a schedule of its kind uses; stops that were given; exercises that stay."""
    limits = phase["flexion_limits"]
    phase["flexion_limits"] = {k: v for k, v in limits.items() if v is not None}
    phase["exercises"] = [e for e in phase["exercises"] if not e.pop("leave_out", False)]
    uses = {"every": "every", "times_a_day": "times", "at": "at"}
    for exercise in phase["exercises"]:
        schedule = exercise["schedule"]
        used = uses.get(schedule["kind"])
        exercise["schedule"] = {k: v for k, v in schedule.items() if k in ("kind", used)}


def _get(body: Any, path: str) -> Any:
    for key in path.split("."):
        if isinstance(body, list):
            body = body[int(key)]
        else:
            body = body.get(key) if isinstance(body, Mapping) else None
    return body


def _set(body: Any, path: str, value: Any) -> None:
    *way, last = path.split(".")
    for key in way:
        body = body[int(key)] if isinstance(body, list) else body.setdefault(key, {})
    body[last] = value


def placed(errors: Errors, parts: list[Part]) -> dict[str, list[str]]:
    """Each message at its input, else at the nearest fieldset round it."""
    known = {each.name for each in every_field(parts)} | set(_fieldsets(parts))
    found: dict[str, list[str]] = {}
    for name, messages in errors.items():
        found.setdefault(_nearest(name, known), []).extend(messages)
    return found


def _fieldsets(parts: list[Part]) -> Iterator[str]:
    for part in parts:
        yield part.at
        yield from _fieldsets(part.parts)


def _nearest(name: str, known: set[str]) -> str:
    if not name.startswith("phases."):
        return name
    path = name
    while path and path not in known:
        path = path.rpartition(".")[0]
    return path or "regime"

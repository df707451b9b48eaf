"""A regime as JSON, and its hash."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from .body import Angle, Band, Exercise, Phase, Position, Regime, Rehearsal
from .dose import Dose, Schedule

Json = dict[str, Any]


def to_json(regime: Regime) -> Json:
    """The body of a revision; `parse` gives the same regime back."""
    return {
        "schema": regime.schema,
        "template": regime.template,
        "name": regime.name,
        "zones": list(regime.zones),
        "structures": list(regime.structures),
        "digits": list(regime.digits),
        "joints": list(regime.joints),
        "phases": [_phase(phase) for phase in regime.phases],
    }


def plan_hash(regime: Regime) -> str:
    """SHA-256 of the body in canonical JSON, 64 hex digits."""
    text = json.dumps(to_json(regime), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _phase(phase: Phase) -> Json:
    return {
        "key": phase.key,
        "name": phase.name,
        "earliest_day": phase.earliest_day,
        "gated": phase.gated,
        "splint": {
            "worn": phase.splint.worn,
            "words": phase.splint.words,
            "holds": list(phase.splint.holds),
        },
        "wear": _wear(phase),
        "positions": [_position(position) for position in phase.positions],
        "exercises": [_exercise(exercise) for exercise in phase.exercises],
        "leading": phase.leading,
        "flexion_limits": dict(phase.limits),
        "band": _band(phase.band),
        "cautions": list(phase.cautions),
        "forbidden": list(phase.forbidden),
        "check": {
            "active_extension_allowed": phase.check.active_extension_allowed,
            "band_lifts": phase.check.band_lifts,
            "after_dressing": phase.check.after_dressing,
        },
        "rehearsal": _rehearsal(phase.rehearsal),
    }


def _wear(phase: Phase) -> Json:
    return {
        "by_day": phase.wear.by_day,
        "by_night": phase.wear.by_night,
        "outdoors": phase.wear.outdoors,
        "comes_off": list(phase.wear.comes_off),
        "words": phase.wear.words,
    }


def _position(position: Position) -> Json:
    return {
        "joint": position.joint,
        "digits": list(position.digits),
        "from": _angle(position.start),
        "to": _angle(position.end),
        "moves": position.moves,
    }


def _angle(angle: Angle) -> Json:
    return {"degrees": angle.degrees, "direction": angle.direction}


def _band(band: Band | None) -> Json | None:
    if band is None:
        return None
    return {
        "joints": list(band.joints),
        "digits": list(band.digits),
        "broken_by_day": band.broken_by_day,
        "broken_by_night": band.broken_by_night,
    }


def _exercise(exercise: Exercise) -> Json:
    return {
        "key": exercise.key,
        "name": exercise.name,
        "steps": list(exercise.steps),
        "dose": dose_to_json(exercise.dose),
        "schedule": schedule_to_json(exercise.schedule),
        "motion": exercise.motion,
        "digits": list(exercise.digits),
        "joints": list(exercise.joints),
        "with_splint": exercise.with_splint,
        "held_until_release": exercise.held_until_release,
        "daily_total": exercise.daily_total,
    }


def _rehearsal(rehearsal: Rehearsal | None) -> Json | None:
    if rehearsal is None:
        return None
    return {
        "key": rehearsal.key,
        "name": rehearsal.name,
        "steps": list(rehearsal.steps),
        "schedule": schedule_to_json(rehearsal.schedule),
    }


def dose_to_json(dose: Dose) -> Json:
    return {"amount": dose.amount, "unit": dose.unit}


def schedule_to_json(schedule: Schedule) -> Json:
    """Only what its kind uses: {"kind": "every", "every": 60}."""
    if schedule.kind == "every":
        return {"kind": "every", "every": schedule.every}
    if schedule.kind == "times_a_day":
        return {"kind": "times_a_day", "times": schedule.times}
    return {"kind": "at", "at": [at.strftime("%H:%M") for at in schedule.at]}

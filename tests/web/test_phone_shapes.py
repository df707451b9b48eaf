"""What the phone's scripts are checked against is what the server sends, and what it takes.

tests/js/types/phone.d.ts declares both. A plan written out as a constant of the declared type is
refused by tsc for a key too many, a key that is missing, or a value of another sort; what the
schemas take of an item is written out as types, which what the phone sends must fit.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from marshmallow import fields, validate
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.config import ROOT
from homeprog.services.close_course import close_course
from homeprog.services.phone_plan import phone_plan
from homeprog.services.plan_visit import plan_visit
from homeprog.services.release_phase import Signed, release_phase
from homeprog.services.take_up_alert import take_up_alert
from homeprog.storage.models import Alert, Device, Number, Staff
from homeprog.web.schemas.phone import ITEMS
from tests import cast as people
from tests.regime_cast import OnRegime, on_regime
from tests.upload_cast import item, results, send, told, trouble

TSC = ROOT / ".venv" / "tsc" / "node_modules" / "typescript" / "bin" / "tsc"
SHAPES = ROOT / "tests" / "js" / "types" / "phone.d.ts"
NOW = datetime(2026, 6, 5, 13, 10, 20, tzinfo=UTC)  # a Friday
HOUR = timedelta(hours=1)
AHEAD = Signed("dynamic_wide", splint_fitted=True, hand_examined=True, not_before=date(2026, 6, 9))
PARTS = """\
Omit<PlanBody, "device">, Body
Course, Told
Slot, Told["slots"][number]
Exercise, Told["exercises"][number]
Phase, Told["phase"]
Wearing, NonNullable<Told["phase"]>["wearing"]
Check, Told["checks"][number]
Question, Told["checks"][number]["questions"][number]
OnNo, Told["checks"][number]["questions"][number]["on_no"]
HandQuestion, Told["hand_question"]
ReleaseQuestion, Told["release_question"]
ServerStop, Told["stop"]
Seen, Told["seen"][number]
Figure, Told["figures"][number]
Trouble, Told["troubles"][number]
Ask, Told["troubles"][number]["asks"][number]
PainRule, Told["pain"]
Rules, Body["rules"]
Ring, Body["ring"][number]
Wish, Body["quiet"][number]
NonNullable<PlanBody["closed"]>, Body["closed"]""".splitlines()  # what is declared, where it stands
Json = dict[str, Any]


def checked(folder: Path, lines: list[str]) -> list[str]:
    """What tsc has to say about lines that use the declared shapes."""
    assert TSC.exists(), "make .venv/.tsc brings tsc, which this asks"
    written = folder / "told.ts"
    written.write_text("\n".join(lines))
    options = ["--noEmit", "--strict", "--target", "ES2023", "--lib", "ES2023,DOM"]
    ran = subprocess.run(
        ["node", TSC, *options, SHAPES, written], capture_output=True, text=True, cwd=folder
    )
    return ran.stdout.splitlines()[:5]


@pytest.fixture
def cast(db: Session) -> OnRegime:
    return on_regime(db, NOW, operated_days_ago=20)


@pytest.fixture
def phone(db: Session, cast: OnRegime) -> Device:
    people.signed(db, db.get_one(Staff, cast.therapist.id), NOW)
    db.add(
        Number(
            at=NOW, clinic_id=cast.clinic.id, set_id=cast.course.id, label="Ring the hand unit",
            tel="020 7946 0101", weekday=4, opens=time(8), closes=time(17),
        )
    )  # fmt: skip
    return people.phone(db, cast.course, NOW)


def plans(db: Session, cast: OnRegime, phone: Device) -> Iterator[Json]:
    """The plan as one course goes on: asked for more, reported, and closed."""
    course, by = cast.course, cast.therapist
    plan_visit(db, by, course.id, date(2026, 6, 19), NOW, "dynamic_wide", "10:30")
    release_phase(db, by, course.id, AHEAD, NOW)
    db.commit()
    wish = item("quiet", course, NOW, kind="until", until=told(NOW + 3 * HOUR))
    assert results(send(db, phone, [wish], NOW)) == ["stored"]
    yield phone_plan(db, phone, NOW)
    send(db, phone, [trouble(course, NOW + HOUR, "splint_gone")], NOW + HOUR)
    alert = db.scalars(select(Alert).where(Alert.kind == "trouble")).one()
    take_up_alert(db, by, alert.id, NOW + HOUR)
    yield phone_plan(db, phone, NOW + HOUR)
    close_course(db, by, course.id, "completed", "", NOW + 2 * HOUR)
    yield phone_plan(db, phone, NOW + 3 * HOUR)


def test_a_plan_has_what_the_phones_scripts_take_it_to_have_and_no_more(db, cast, phone, tmp_path):
    sent = list(plans(db, cast, phone))
    lines = [f"export const plan{n}: PlanBody = {json.dumps(plan)};" for n, plan in enumerate(sent)]
    lines += [
        f"const sent = {json.dumps(sent)};",
        "type Keys<T> = T extends T ? keyof T : never;",
        "type Missing<Declared, Sent> = Exclude<keyof Declared, Keys<NonNullable<Sent>>>;",
        "type None<T extends never> = T;",
        "type Body = (typeof sent)[number];",
        'type Told = Body["courses"][number];',
        *(f"export type T{n} = None<Missing<{each}>>;" for n, each in enumerate(PARTS)),
    ]
    assert checked(tmp_path, lines) == []


def taken(field: fields.Field) -> str:
    """The type of what a field of a schema takes."""
    rules = field.validate if isinstance(field.validate, list) else [field.validate]
    of = next((each.choices for each in rules if isinstance(each, validate.OneOf)), None)
    of = of or [each.comparable for each in rules if isinstance(each, validate.Equal)]
    known = {fields.Integer: "number", fields.Boolean: "boolean", fields.Dict: "object"}
    kind = " | ".join(map(json.dumps, of)) or known.get(type(field), "string")
    return f"{kind} | null" if field.allow_none else kind


def shape_taken(sort: str) -> str:
    """What the server takes of a sort of item; a kind of trouble is one of those the plan has."""
    lines = [
        f"{name}{'' if field.required else '?'}: {taken(field)};"
        for name, field in ITEMS[sort].fields.items()
        if name != "type" and (sort, name) != ("trouble", "kind")
    ]
    kind = "kind: string;" if sort == "trouble" else ""
    return f"interface {sort} {{ type: {json.dumps(sort)}; {kind} {' '.join(lines)} }}"


def test_the_server_takes_what_the_phone_sends_and_leaves_no_field_of_it_out(tmp_path):
    lines = ["type None<T extends never> = T;", "type Every<T> = T extends T ? keyof T : never;"]
    for sort in ITEMS:
        said = f'Extract<Item, {{ type: "{sort}" }}>'
        lines += [
            shape_taken(sort),
            f"export const {sort}_fits = (item: {said}): {sort} => item;",
            f"export type {sort}_lost = None<Exclude<Every<{said}>, keyof {sort}>>;",
            f"export type {sort}_unsaid = None<Exclude<keyof {sort}, Every<{said}>>>;",
        ]
    known = " | ".join(map(json.dumps, ITEMS))
    lines += [f'export type Sorts = None<Exclude<Item["type"], {known}>>;']
    assert checked(tmp_path, lines) == []

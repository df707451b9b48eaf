"""A clinician signs the clinic's texts: cautions and trouble texts reach a phone only so."""

from __future__ import annotations

import json
import re
import uuid
from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from ..domain.course import WORN
from ..domain.errors import Invalid
from ..domain.trouble import required_texts
from ..storage import clinics
from ..storage.models import SignedText
from .actor import Actor, require_clinician
from .keep_audit import keep

STARTING_POINTS = Path(__file__).resolve().parent.parent / "starting_points" / "texts"
MOST_LINES = 20
END_OF_SENTENCE = re.compile(r"(?<=[.!?؟।])\s+")
TITLES: Mapping[str, str] = {
    "before.keep_dry": "Keep it dry",
    "before.do_not_use": "Do not use this hand",
    "before.hand_high": "Keep the hand high",
    "screen.stop": "Stop",
    "screen.checking_plan": "We are checking your plan",
    "screen.no_contact_72h": "Plan not checked",
    "screen.nobody_on_duty": "Nobody reads this now",
    "screen.carry_on": "Carry on",
    "screen.old_splint": "Back to the old splint",
    "trouble.snap": "A snap",
    "trouble.finger_no_longer_lifts": "The finger no longer lifts",
    "trouble.knock_or_fall": "A hard knock or a fall",
    "trouble.splint_gone": "Splint broken, lost or off",
    "trouble.band_no_longer_lifts": "The band no longer lifts the finger",
    "trouble.white_blue_cold": "White, blue or cold finger, or a tight forearm",
    "trouble.numb": "New numbness",
    "trouble.severe_pain": "Pain that keeps growing",
    "trouble.wound": "Open wound, pus or spreading red",
    "trouble.fever": "Shivering or fever",
    "trouble.told_to_stop": "I was told to stop",
    "trouble.not_my_hand": "This is not my hand",
    "trouble.bump": "A light bump",
    "trouble.splint_off_and_back": "The splint was off and is back on",
    "trouble.told_different": "I was told something different",
    "trouble.splint_does_not_hold": "The splint slips",
    "trouble.swelling": "Swelling or throbbing",
    "trouble.skin": "Red skin or a blister",
    "trouble.tingling": "Tingling",
}
Text = tuple[str, list[str]]  # title, lines


def title_of(key: str) -> str:
    """A title for a key, whatever is worn: 'New numbness' for trouble.numb.plaster."""
    return TITLES.get(_bare(key), key.split(".")[1].replace("_", " ").capitalize())


def _bare(key: str) -> str:
    stem, _, last = key.rpartition(".")
    return stem if last in WORN else key


def starting_texts(language: str = "en") -> dict[str, Text]:
    """The unsigned texts a clinic may start from, by key; none in a language we do not have."""
    path = STARTING_POINTS / f"{language}.json"
    if not re.fullmatch(r"[a-z]{2,3}", language) or not path.exists():
        return {}
    told = json.loads(path.read_text(encoding="utf-8"))
    return read_texts(told["texts"], told.get("titles", {}))


def read_texts(given: Mapping[str, Any], titles: Mapping[str, str] = TITLES) -> dict[str, Text]:
    """Texts by key, each a string, or {"title", "lines"}. Invalid, a message a key.

    `titles`: by key without what is worn, for texts that bring none of their own.
    """
    texts: dict[str, Text] = {}
    faults: dict[str, list[str]] = {}
    for key, said in given.items():
        title, lines = titles.get(_bare(key), title_of(key)), said
        if isinstance(said, Mapping):
            title, lines = said.get("title") or title, said.get("lines")
        if isinstance(lines, str):
            lines = END_OF_SENTENCE.split(lines.strip())
        if not _lines_hold(lines) or not isinstance(title, str):
            faults[key] = ["Say a title and 1 to 20 lines of text."]
        else:
            texts[key] = (title, lines)
    if faults:
        raise Invalid("texts", "The texts cannot be read.", faults)
    return texts


def _lines_hold(lines: object) -> bool:
    return (
        isinstance(lines, list)
        and 0 < len(lines) <= MOST_LINES
        and all(isinstance(line, str) and line.strip() for line in lines)
    )


def sign_text(
    db: Session,
    by: Actor,
    keys: Iterable[str] | None,
    now: datetime,
    texts: Mapping[str, Text] | None = None,
    language: str = "en",
) -> list[SignedText]:
    """Sign `keys` (None: all) of `texts` (None: the starting points). Invalid on unknown keys."""
    require_clinician(by, "sign a text")
    texts = starting_texts(language) if texts is None else texts
    wanted = list(texts if keys is None else keys)
    if unknown := {key: ["There is no text of this key."] for key in wanted if key not in texts}:
        raise Invalid("texts", "Nothing was signed.", unknown)
    assert by.id is not None
    rows = []
    for key in wanted:
        title, lines = texts[key]
        last = key.rpartition(".")[2]
        rows.append(
            SignedText(
                clinic_id=by.clinic_id, at=now, key=key, worn=last if last in WORN else None,
                language=language, title=title, lines=lines, by_id=by.id,
            )
        )  # fmt: skip
    db.add_all(rows)
    db.flush()
    for row in rows:
        keep(db, by, "signed_text", row, now)
    return rows


def standing_of_texts(
    db: Session, clinic_id: uuid.UUID, now: datetime, language: str = "en"
) -> dict[str, str]:
    """Each text a phone needs or the clinic has, with 'signed', 'not signed' or 'no text'."""
    signed = clinics.signed_texts(db, clinic_id, language, now)
    start = starting_texts(language)
    keys = list(dict.fromkeys([*required_texts(None), *start, *signed]))
    own = {key for key, row in signed.items() if row.language == language}
    return {
        key: "signed" if key in own else "not signed" if key in start else "no text" for key in keys
    }

"""A clinic signs a language off for its phones, or takes it back.

A clinician of the clinic signs, and names who read it beside the English where it was somebody
else: a colleague or an interpreter who speaks it. What is signed is all of it as it was read,
kept word for word. From then on:

- a phrase or sentence is told as it was signed, as long as its English is what it was; words that
  ship later, or other English, are in English until the clinic signs again;
- a text stands as long as the clinic's English text beside which it was signed;
- a language that was withdrawn is off at a phone's next look at its plan.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy.orm import Session

from ..domain.errors import Conflict, Invalid
from ..storage.models import LanguageStep
from .actor import Actor, require_clinician
from .keep_audit import keep
from .read_language import Pair, Reading, read_language
from .sign_text import sign_text


def sign_language(
    db: Session, by: Actor, language: str, digest: str, reader: str, now: datetime
) -> LanguageStep:
    """Switch a language on in the words of `digest`, which are those that were on the page.

    Raises Invalid without a reader, Conflict where the words are others by now or a text that a
    phone needs is not there.
    """
    require_clinician(by, "sign a language off")
    read = read_language(db, by.clinic_id, language, now)
    if not reader.strip():
        raise Invalid("reader", "Nothing was signed.", {"reader": ["Say who read it."]})
    if read.digest != digest:
        raise Conflict("words_changed", "The words changed while you read. Read the page again.")
    if read.lacking or not read.texts:
        said = ", ".join(read.lacking) or "the English ones are not signed"
        raise Conflict("texts_lacking", f"Texts are lacking: {said}.")
    new = {p.key: (p.own[0], p.own[1:]) for p in read.texts if p.own and not p.signed}
    sign_text(db, by, None, now, new, language)
    return _step(db, by, read, "signed_off", reader.strip(), now)


def withdraw_language(db: Session, by: Actor, language: str, now: datetime) -> LanguageStep:
    """Switch a language off. Conflict if it is off."""
    require_clinician(by, "withdraw a language")
    read = read_language(db, by.clinic_id, language, now)
    if read.state == "off":
        raise Conflict("language_off", "This language is off already.")
    return _step(db, by, read, "withdrawn", "", now)


def _step(
    db: Session, by: Actor, read: Reading, step: str, reader: str, now: datetime
) -> LanguageStep:
    assert by.id is not None
    words = {"phrases": _both(read.phrases), "sentences": {p.key: p.own for p in read.sentences}}
    row = LanguageStep(
        clinic_id=by.clinic_id, at=now, language=read.language, step=step, reader=reader,
        words=words if step == "signed_off" else {}, digest=read.digest, by_id=by.id,
    )  # fmt: skip
    db.add(row)
    keep(db, by, f"language_{step}", row, now)
    db.flush()
    return row


def _both(pairs: Iterable[Pair]) -> dict[str, list[object]]:
    return {pair.key: [pair.english, pair.own] for pair in pairs if pair.own is not None}

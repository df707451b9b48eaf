"""A language as it is read for review: each word of a phone in English and beside it."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from sqlalchemy.orm import Session

from ..domain.errors import NotFound
from ..domain.trouble import required_texts
from ..phrases import ENGLISH, LANGUAGES, shipped
from ..storage import clinics, languages
from ..storage.models import LanguageStep, SignedText
from .sign_text import starting_texts

BOOKS = Path(__file__).resolve().parent.parent / "starting_points" / "sentences"

State = Literal["off", "on", "changed"]


@dataclass(frozen=True, slots=True)
class Pair:
    """Words under one key; a title before a text's lines, a phrase whole or by plural form."""

    key: str
    english: Any  # a text, lines of a text, or plural category -> text
    own: Any  # the same in the language; None where there is no translation
    signed: bool  # these very words are on phones


@dataclass(frozen=True, slots=True)
class Reading:
    """All that a sign-off covers, and how it stands at the clinic."""

    language: str
    state: State  # changed: on, and some words were not read or not so
    step: LanguageStep | None  # the last sign-off or withdrawal
    phrases: tuple[Pair, ...]
    texts: tuple[Pair, ...]
    sentences: tuple[Pair, ...]

    @property
    def name(self) -> str:
        return LANGUAGES[self.language]

    @property
    def digest(self) -> str:
        """SHA-256 of everything read, in hexadecimal."""
        parts = (self.phrases, self.texts, self.sentences)
        told = [self.language, *([(p.key, p.english, p.own) for p in part] for part in parts)]
        return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()

    @property
    def unsigned(self) -> int:
        """How many of the translations are not what phones show."""
        return sum(
            pair.own is not None and not pair.signed
            for part in (self.phrases, self.texts, self.sentences)
            for pair in part
        )

    @property
    def lacking(self) -> list[str]:
        """Keys of the texts a phone needs that have no translation beside the clinic's English."""
        needed = set(required_texts(None))
        return [pair.key for pair in self.texts if pair.own is None and pair.key in needed]


def read_language(db: Session, clinic_id: uuid.UUID, language: str, now: datetime) -> Reading:
    """The language beside English. NotFound for one that does not ship, and for English."""
    if language not in LANGUAGES or language == ENGLISH:
        raise NotFound("language")
    step = languages.newest_steps(db, clinic_id, now).get(language)
    signed = step.words if step is not None and step.step == "signed_off" else {}
    phrases = _phrases(language, signed.get("phrases", {}))
    texts = _texts(db, clinic_id, language, now)
    sentences = _sentences(language, signed.get("sentences", {}))
    read = Reading(language, "on" if signed else "off", step, phrases, texts, sentences)
    if signed and read.unsigned:
        read = Reading(language, "changed", step, phrases, texts, sentences)
    return read


def _phrases(language: str, signed: Mapping[str, Any]) -> tuple[Pair, ...]:
    own = shipped(language)
    return tuple(
        Pair(key, english, own.get(key), signed.get(key) == [english, own.get(key)])
        for key, english in shipped(ENGLISH).items()
    )


def _sentences(language: str, signed: Mapping[str, Any]) -> tuple[Pair, ...]:
    return tuple(
        Pair(english, english, own, signed.get(english) == own)
        for english, own in sentence_book(language).items()
    )


@lru_cache
def sentence_book(language: str) -> Mapping[str, str]:
    """English sentence of the shipped regimes -> its unsigned translation; empty without a book."""
    path = BOOKS / f"{language}.json"
    if language not in LANGUAGES or not path.is_file():
        return {}
    told: Mapping[str, str] = json.loads(path.read_text(encoding="utf-8"))["sentences"]
    return told


def _texts(db: Session, clinic_id: uuid.UUID, language: str, now: datetime) -> tuple[Pair, ...]:
    """Each text the clinic signed in English, and what stands or may stand beside it."""
    english = clinics.signed_texts(db, clinic_id, ENGLISH, now)
    standing = clinics.signed_texts(db, clinic_id, language, now)
    shipped_english, shipped_own = starting_texts(ENGLISH), starting_texts(language)
    found = []
    for key in sorted(english, key=_place):
        row, beside = english[key], standing[key]
        same = key in shipped_english and row.lines == shipped_english[key][1]
        own = shipped_own.get(key) if same else None  # a translation of other words is none
        if beside.language == language:
            own = (beside.title, beside.lines)
        said = [own[0], *own[1]] if own else None
        found.append(Pair(key, _said(row), said, beside.language == language))
    return tuple(found)


def _place(key: str) -> tuple[int, str]:
    """Emergencies and stops first, as the rules list them; what only this clinic has last."""
    needed = required_texts(None)
    return (needed.index(key) if key in needed else len(needed)), key


def _said(row: SignedText) -> list[str]:
    return [row.title, *row.lines]

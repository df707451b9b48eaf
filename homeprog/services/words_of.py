"""The words a phone may show in a language: what the clinic signed off, and English beneath it."""

from __future__ import annotations

import hashlib
import json
import re
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from ..phrases import ENGLISH, Phrase, Say, look_up, shipped
from ..storage.languages import signed_off

SENTENCE = re.compile(r"(?<=[.!?])\s+")


@dataclass(frozen=True, slots=True)
class Words:
    """One language as one clinic may show it."""

    language: str
    phrases: Mapping[str, Phrase]  # signed off; what is not here is said in English
    sentences: Mapping[str, str]  # English sentence of a regime -> translation
    say: Say

    @property
    def version(self) -> str | None:
        """Changes with the phrases, so that a phone fetches them once; None for English."""
        if self.language == ENGLISH:
            return None
        told = json.dumps([self.language, dict(self.phrases)], sort_keys=True)
        return hashlib.sha256(told.encode()).hexdigest()[:12]

    def sentence(self, english: str) -> str:
        """Words of a regime in the language; as they were prescribed where the book lacks any.

        A text is translated whole, or sentence by sentence if the book has each of them: a
        caution of which half is understood is worse than one that an interpreter reads.
        """
        if english in self.sentences:
            return self.sentences[english]
        parts = SENTENCE.split(english)
        if all(part in self.sentences for part in parts):
            return " ".join(self.sentences[part] for part in parts)
        return english

    def knows(self, english: str) -> bool:
        """Whether words of a regime are said in the language; empty ones always are."""
        if self.language == ENGLISH or not english.strip():
            return True
        parts = SENTENCE.split(english)
        return english in self.sentences or all(part in self.sentences for part in parts)


def words_of(db: Session, clinic_id: uuid.UUID, language: str, now: datetime) -> Words:
    """The words of `language` that a phone of the clinic may show at `now`.

    A phrase is told in the words that were signed off as long as the English they were read
    beside is the English that ships now; after that, and where nothing was signed, in English.
    A new translation that ships later waits for the clinic's next sign-off. A language that is
    off gives English whole.
    """
    step = signed_off(db, clinic_id, language, now)
    if step is None:
        return Words(ENGLISH, {}, {}, look_up(ENGLISH, shipped(ENGLISH)))
    english = shipped(ENGLISH)
    read: Mapping[str, tuple[Phrase, Phrase]] = step.words["phrases"]
    phrases = {key: own for key, (beside, own) in read.items() if english.get(key) == beside}
    return Words(language, phrases, step.words["sentences"], look_up(language, phrases))

"""The phrases of shared/phrases, looked up by key as static/js/core/words.js does.

Buttons and labels only: what a clinic signs (cautions, steps, trouble texts) is never here. A key
that a language does not have is said in English, by English plural rules; a key that nobody has
is given back as it is. Plural forms follow CLDR: Babel here, Intl.PluralRules in the browser, on
the cases of shared/cases/plural.json. Digits are Western in every language: a dose, a time and a
telephone number must match the paper and the label on the splint.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Protocol

from babel import Locale

FOLDER = Path(__file__).resolve().parent.parent / "shared" / "phrases"
ENGLISH = "en"
LANGUAGES: Mapping[str, str] = MappingProxyType(
    {"en": "English", "es": "Español", "ar": "العربية", "hi": "हिन्दी"}
)  # each by the name its own speakers read
RIGHT_TO_LEFT = frozenset({"ar"})
HOLE = re.compile(r"\{(\w+)\}")
NONE: Mapping[str, object] = MappingProxyType({})

Phrase = str | Mapping[str, str]  # a text, or plural category -> text
Phrases = Mapping[str, Phrase]


class Say(Protocol):
    """Words of a key; each {hole} is filled by its name, and the hole `n` picks the form."""

    def __call__(self, key: str, holes: Mapping[str, object] = NONE) -> str: ...


@lru_cache
def shipped(language: str) -> Phrases:
    """The phrases of one language as they ship; none of a language there is no file of.

    A name that begins with @ says something of the file (its review) and is no phrase.
    """
    path = FOLDER / f"{language}.json"
    if language not in LANGUAGES or not path.is_file():
        return MappingProxyType({})
    told = json.loads(path.read_text(encoding="utf-8"))
    return MappingProxyType({key: said for key, said in told.items() if not key.startswith("@")})


def phrases_of(language: str) -> Say:
    """The look-up of one language as it ships, whoever may have read it; English beneath it.

    For a patient use `services.words_of`: it says in a language only what the clinic signed off.
    """
    return look_up(language, shipped(language))


def look_up(language: str, own: Phrases) -> Say:
    """A look-up in `own`, which are of `language`; what they lack is said in English."""

    def say(key: str, holes: Mapping[str, object] = NONE) -> str:
        if key in own:
            return fill(own[key], language, holes)
        return fill(shipped(ENGLISH).get(key, key), ENGLISH, holes)

    return say


def fill(phrase: Phrase, language: str, holes: Mapping[str, object]) -> str:
    """One phrase with its holes filled; a hole that is not given stays as it is."""
    text = phrase if isinstance(phrase, str) else _form(phrase, language, holes.get("n"))
    return HOLE.sub(lambda hole: str(holes.get(hole[1], hole[0])), text)


def _form(forms: Mapping[str, str], language: str, n: object) -> str:
    category = _rule(language)(n) if isinstance(n, int | float) else "other"
    return forms.get(category, forms["other"])


@lru_cache
def _rule(language: str) -> Callable[[float], str]:
    """The plural rule of a language; a plan asks for it some hundred times."""
    rule: Callable[[float], str] = Locale.parse(language).plural_form
    return rule

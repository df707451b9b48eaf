"""Reads a description back: which joints it names, and their angles, from the English words."""

from __future__ import annotations

import re
from dataclasses import dataclass

JOINTS = {
    "wrist": "wrist",
    "base of the thumb": "CMC",
    "thumb knuckle": "MCP",
    "thumb end joint": "IP",
    "big knuckle": "MCP",
    "middle joint": "PIP",
    "end joint": "DIP",
}  # the longer name before the shorter
KINDS = (
    ("may move", "free"),
    ("never", "never"),
    ("straighten from", "moves"),
    ("bend from", "moves"),
    ("move from", "moves"),
)


@dataclass(frozen=True)
class Told:
    """What one sentence says of one joint, degrees towards flexion."""

    kind: str  # held, free, moves, never, stop, easy, band
    joint: str
    degrees: tuple[float, ...]


def told(description: str) -> list[Told]:
    """Every joint named, in order, with its angles; a stop belongs to the joint before it."""
    found: list[Told] = []
    for sentence in re.split(r"(?<=\.)\s+", description):
        low = sentence.rstrip(".").lower()
        if low.startswith(("stop ", "do not bend past", "never less")):
            found.append(Told("stop", found[-1].joint, signed(low)))
        elif low.startswith(("bend:", "straighten:", "bring back:", "a band holds")):
            kind = "band" if low.startswith("a band") else "easy"
            found += [Told(kind, joint, ()) for joint in named(low.split(":")[1])]
        elif ":" in low and named(low.split(":")[0]):
            label, said = low.split(":", 1)
            kind = next((kind for words, kind in KINDS if words in said), "held")
            kind = "beside" if "next to it" in label else kind
            found.append(Told(kind, named(label)[0], signed(said)))
    return found


def named(words: str) -> list[str]:
    """The joints named in some words, in order, a longer name before a shorter in it."""
    pattern = "|".join(JOINTS)
    return [JOINTS[name] for name in re.findall(pattern, words)]


def signed(words: str) -> tuple[float, ...]:
    """The angles of some words: 'back' counts below zero, 'straight' is zero."""
    number = r"\d+|straight(?!en)"
    tokens = re.findall(number, words)
    values = [0.0 if token == "straight" else float(token) for token in tokens]
    if " back to " in words or " to straight" in words:  # 'from 45 back to 20 degrees bent'
        return (-values[0], *values[1:])
    if re.search(r"(bent|forward|straight) to \d+ degrees? back", words):
        return (*values[:-1], -values[-1])
    if "back" in words or "less than" in words:
        return tuple(-value for value in values)
    return tuple(values)

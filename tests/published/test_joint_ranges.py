"""The ends of the joints' ranges against the page they were read on."""

from __future__ import annotations

import pytest

from homeprog.domain.course import Digit, Joint
from homeprog.domain.figure.ranges import usual

# e-hand.com/nor/nor002.htm, 'Normal Range of Motion Reference Values': (extension, flexion).
READ: tuple[tuple[Joint, Digit, int, int], ...] = (
    ("wrist", "middle", 70, 75),
    ("MCP", "middle", 45, 90),
    ("PIP", "middle", 0, 100),
    ("DIP", "middle", 0, 80),
    ("MCP", "thumb", 10, 55),
    ("IP", "thumb", 15, 80),
)


@pytest.mark.parametrize(("joint", "digit", "extension", "flexion"), READ)
def test_a_joint_goes_as_far_as_the_page_says(
    joint: Joint, digit: Digit, extension: int, flexion: int
) -> None:
    assert usual(joint, digit) == (-extension, flexion)

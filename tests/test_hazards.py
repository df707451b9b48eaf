"""Each hazard names a control and the test that proves it: a test that is there."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in (ROOT / "docs" / "HAZARDS.md").read_text().splitlines()
    if line.startswith("| ")
][1:]
DEFINED = {
    name
    for file in (ROOT / "tests").rglob("test_*.py")
    for name in re.findall(r"^def (test_\w+)", file.read_text(), re.MULTILINE)
}
SAID = "".join(file.read_text() for file in (ROOT / "tests" / "js").glob("*.test.mjs"))


def missing(proof: str) -> list[str]:
    """What a row names as its proof and is not there: files, tests, a node test's sentence."""
    return [
        named
        for named in re.findall(r"`([^`]+)`", proof)
        if not (any(ROOT.glob(named)) or named in DEFINED or f'test("{named}"' in SAID)
    ]


def test_each_hazard_names_a_test_that_is_there() -> None:
    assert len(ROWS) > 30
    for hazard, control, proof in ROWS:
        assert control, f"no control of: {hazard}"
        assert "`" in proof, f"nothing proves the control of: {hazard}"
        assert missing(proof) == [], hazard

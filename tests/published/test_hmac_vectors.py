"""The webhook's code against the vectors of RFC 4231, section 4 (test cases 1, 2, 3, 4, 6, 7)."""

from __future__ import annotations

import pytest

from homeprog.delivery.webhook import code, signature

LONG = (
    b"This is a test using a larger than block-size key and a larger than block-size data. The key "
    b"needs to be hashed before being used by the HMAC algorithm."
)
CASES = [
    (b"\x0b" * 20, b"Hi There",
     "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
    (b"Jefe", b"what do ya want for nothing?",
     "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"),
    (b"\xaa" * 20, b"\xdd" * 50,
     "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe"),
    (bytes(range(1, 26)), b"\xcd" * 50,
     "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b"),
    (b"\xaa" * 131, b"Test Using Larger Than Block-Size Key - Hash Key First",
     "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54"),
    (b"\xaa" * 131, LONG,
     "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "said", "expected"), CASES)
def test_the_code_is_that_of_the_published_vectors(key: bytes, said: bytes, expected: str) -> None:
    assert code(key, said) == expected


def test_the_signature_is_the_code_of_timestamp_and_body() -> None:
    assert signature(b"Jefe", "what do ya want for nothing", b"") != CASES[1][2]
    assert signature(b"k", "1", b"two") == code(b"k", b"1.two")

"""Codes of the moment against the published vectors and a reference library; a drawn code against a reader of drawn codes.

Sources: RFC 4226, appendix D (six digits, counters 0 to 9); RFC 6238, appendix B (SHA-1 rows, eight digits); pyotp, which reads the
address; zxing-cpp, which reads the drawing.
"""

from __future__ import annotations

from datetime import UTC, datetime

import pyotp
import pytest
import zxingcpp
from PIL import Image, ImageDraw

from drillhall.core.one_time import address_of, code_of, find_step, in_letters, step_of
from drillhall.web.second_step.drawing import draw

SECRET = b"12345678901234567890"
COUNTED = ("755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489")
TIMED = {
    59: "94287082",
    1111111109: "07081804",
    1111111111: "14050471",
    1234567890: "89005924",
    2000000000: "69279037",
    20000000000: "65353130",
}


@pytest.mark.parametrize(("counter", "code"), list(enumerate(COUNTED)))
def test_counted_codes_are_those_of_rfc_4226(counter: int, code: str) -> None:
    assert code_of(SECRET, counter) == code


@pytest.mark.parametrize(("seconds", "code"), list(TIMED.items()))
def test_timed_codes_are_those_of_rfc_6238(seconds: int, code: str) -> None:
    at = datetime.fromtimestamp(seconds, tz=UTC)
    assert code_of(SECRET, step_of(at), digits=8) == code
    assert find_step(SECRET, code[-6:], at=at, after=-1) == step_of(at)


@pytest.mark.parametrize("name", ["Oda Querfurth", "Ødegård: & Söhne? #1", "王 å%20"])
def test_a_reader_of_drawn_codes_and_another_library_give_the_same_code(name: str) -> None:
    at = datetime(2031, 3, 3, 9, tzinfo=UTC)
    drawn = draw(address_of(SECRET, name=name, hall="hall.example"))
    read = pyotp.parse_uri(_read(drawn.size, drawn.bars))
    assert isinstance(read, pyotp.TOTP)
    assert (read.name, read.issuer, read.secret) == (name, "hall.example", in_letters(SECRET).replace(" ", ""))
    assert read.at(at) == code_of(SECRET, step_of(at))


def _read(size: int, bars: tuple[tuple[int, int, int], ...]) -> str:
    picture = Image.new("L", (size * 4, size * 4), 255)
    pen = ImageDraw.Draw(picture)
    for x, y, width in bars:
        pen.rectangle((x * 4, y * 4, (x + width) * 4 - 1, y * 4 + 3), fill=0)
    (found,) = zxingcpp.read_barcodes(picture)
    return str(found.text)

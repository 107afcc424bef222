"""The page of the hall's own parts: every macro that pages share stands on it, each specimen by names of its own."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from jinja2 import nodes

from drillhall.core.values import Mark
from drillhall.practice.packets import PictureView, Size
from drillhall.web.specimens.room import list_specimens
from tests.cast import KEEPER, LEARNER
from tests.visits import Hall

PARTS = Path(__file__).resolve().parents[2] / "templates/parts"
SAMPLE = PictureView(
    "sample",
    (Size("small", 600, 450), Size("large", 1200, 900)),
    1200,
    900,
    "One small shorebird on wet mud.",
    "Drawing",
    "Drawing: Orla Invented",
    "Drawing: Orla Invented",
    {"bill": Mark("bill", 0.1, 0.1, 0.2, 0.2)},
    licence="CC BY 4.0",
)


def macros(hall: Hall) -> set[tuple[str, str]]:
    """Read every macro of the folder of parts from its source."""
    found = set()
    for file in sorted(PARTS.glob("*.html")):
        tree = hall.app.jinja_env.parse(file.read_text(encoding="utf-8"))
        found |= {(f"parts/{file.name}", macro.name) for macro in tree.find_all(nodes.Macro)}
    return found


def test_every_part_stands_on_the_page(hall: Hall) -> None:
    there = macros(hall)
    assert len(there) > 30
    assert there == {(one.file, one.macro) for one in list_specimens(SAMPLE)}


def test_no_two_specimens_of_a_part_show_the_same_state() -> None:
    named = Counter((one.file, one.macro, one.state) for one in list_specimens(SAMPLE))
    assert [name for name, times in named.items() if times > 1] == []


@pytest.mark.parametrize("has_picture", [True, False])
def test_the_page_writes_each_specimen_under_names_of_its_own(hall: Hall, monkeypatch: pytest.MonkeyPatch, has_picture: bool) -> None:
    sample = SAMPLE if has_picture else None
    monkeypatch.setattr("drillhall.web.specimens.room.find_sample", lambda *_, **__: sample)
    page = hall.enter(KEEPER, is_keeper=True).get("/parts").text
    assert page.count("data-specimen=") == len(list_specimens(sample))
    ids = Counter(re.findall(r'\bid="([^"]+)"', page))
    assert [name for name, times in ids.items() if times > 1] == []
    assert ("no picture in this hall" in page) is not has_picture


def test_nobody_but_the_keeper_sees_it(hall: Hall) -> None:
    assert hall.enter(LEARNER).get("/parts").status_code == 404
    assert hall.visitor().get("/parts").status_code == 303

"""The credit lines: the short one gives nothing away, the whole one holds every part."""

from __future__ import annotations

import pytest

from drillhall.core.licences import CC0, read_licence
from drillhall.core.rights import Rights, credit_line, maker_line, short_credit


def test_the_whole_credit_holds_all_parts_and_the_short_one_gives_nothing_away() -> None:
    rights = Rights("Ada Mudd", read_licence("CC-BY-2.0"), "A. Mudd / Flats Club", source="https://club.example/17", title="Young dunlin")
    assert credit_line(rights, "Photograph", altered="cropped") == (
        "Photograph: “Young dunlin” by Ada Mudd, A. Mudd / Flats Club, https://club.example/17, "
        "CC BY 2.0 (https://creativecommons.org/licenses/by/2.0/), cropped"
    )
    assert short_credit(rights) == "Photograph: Ada Mudd, CC BY 2.0"
    assert short_credit(Rights(), "Drawing") == "Drawing: maker not named, no licence given"
    assert credit_line(Rights("Ada Mudd", CC0, "Ada Mudd"), "Drawing").count("Ada Mudd") == 1


@pytest.mark.parametrize(
    ("maker", "wished", "told"),
    [
        ("Ada Mudd", "Ada Mudd / Flats Club", "Ada Mudd / Flats Club"),
        ("Li", "Lilian's Pictures", "Li, Lilian's Pictures"),  # her name is no part of that word
        ("A. Mudd (Flats)", "by A. Mudd (Flats), 2031", "by A. Mudd (Flats), 2031"),
        ("Ada Mudd", "ada mudd", "Ada Mudd, ada mudd"),
    ],
)
def test_the_maker_is_named_once_and_never_left_out(maker: str, wished: str, told: str) -> None:
    assert maker_line(Rights(maker, CC0, wished), "Photograph") == f"Photograph: {told}"

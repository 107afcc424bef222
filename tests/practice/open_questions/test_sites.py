"""Which sites may be named: an origin and nothing more, so that nothing else gets into a header."""

from __future__ import annotations

import pytest

from drillhall.errors import Invalid
from drillhall.practice.open_questions.keeping import read_sites


@pytest.mark.parametrize(
    ("typed", "origins"),
    [
        ("https://club.example", ("https://club.example",)),
        ("https://Club.Example/", ("https://club.example",)),
        ("https://club.example:443\n http://mud.example:8080 ", ("https://club.example", "http://mud.example:8080")),
        ("https://bücher.example", ("https://xn--bcher-kva.example",)),  # the punycode of RFC 3492's kin, from memory
        ("\n\n", ()),
        ("https://club.example\nhttps://club.example", ("https://club.example",)),
    ],
)
def test_an_origin_is_read_as_a_browser_writes_it(typed: str, origins: tuple[str, ...]) -> None:
    assert read_sites(typed) == origins


@pytest.mark.parametrize(
    "typed",
    [
        "club.example",
        "*",
        "https://*.example",
        "https://club.example/page",
        "https://club.example?x",
        "https://club.example#x",
        "https://me@club.example",
        "https://club.example; script-src *",
        "https://club.example https://other.example",
        "https://club.example,https://other.example",
        "javascript:alert(1)",
        "data:text/html,x",
        "https://",
        "https://club.example:99999",
        "https://club.example:x",
        "https://'self'",
        "https://-club.example",
        "https://straße.example",  # which browsers know apart from strasse.example
        "https://club..example",
        "https://[::1]",
        "https://" + "a" * 300,
    ],
)
def test_whatever_is_no_origin_is_refused_by_name(typed: str) -> None:
    with pytest.raises(Invalid, match="no site's address") as refused:
        read_sites(typed)
    assert refused.value.field == "sites"


def test_more_than_five_are_refused() -> None:
    with pytest.raises(Invalid, match="5 sites at most"):
        read_sites("\n".join(f"https://club{number}.example" for number in range(6)))

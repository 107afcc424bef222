"""An address for mail is kept as it is delivered to, and refused where nobody could tell which domain is meant."""

from __future__ import annotations

import pytest

from drillhall.core.addresses import read_address
from drillhall.errors import Invalid


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        (" oda@club.example ", "oda@club.example"),
        ("Oda@Club.EXAMPLE", "Oda@club.example"),
        ("oda@Möwe.example", "oda@xn--mwe-sna.example"),
        ("oda@xn--strae-oqa.example", "oda@xn--strae-oqa.example"),  # straße as IDNA 2008 writes it: RFC 5891; Python's reads it as ss
    ],
)
def test_a_domain_is_kept_as_it_goes_over_the_wire(typed: str, kept: str) -> None:
    assert read_address(typed) == kept


@pytest.mark.parametrize("host", ["straße.example", "STRAẞE.example", "φίλος.example", "a\u200cb.example"])
def test_a_domain_that_is_read_in_two_ways_gets_no_mail(host: str) -> None:
    with pytest.raises(Invalid) as refused:
        read_address(f"oda@{host}")
    assert refused.value.field == "address"


@pytest.mark.parametrize(
    "typed", ["", "oda", "@club.example", "oda@", "oda@club", "oda@club..example", "o da@club.example", "oda@.example"]
)
def test_what_is_no_address_is_refused(typed: str) -> None:
    with pytest.raises(Invalid):
        read_address(typed)

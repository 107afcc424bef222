"""Licences against SPDX, as license-expression knows it, and against a table read out of the licence texts."""

from __future__ import annotations

import pytest
from license_expression import get_spdx_licensing

from drillhall.core.licences import LICENCES, read_licence

SPDX = get_spdx_licensing()
OURS = {"LicenseRef-all-rights-reserved", "LicenseRef-used-with-permission"}

# What the texts say: (no derivatives for others, not even private ones, non-commercial, share-alike, attribution).
# Source, from memory of the legal codes:
#   4.0: 1(a) Adapted Material, 1(i) NonCommercial (BY-NC), 2(a)(1)(A/B) rights granted (ND: "produce and reproduce, but not Share"),
#        3(a) attribution, 3(b) share-alike.
#   3.0: 3 licence grant (ND: "otherwise you have no rights to make Adaptations"), 4(b) share-alike (BY-SA) and 4(b) "private
#        monetary compensation" (BY-NC), 4(c)/4(d) credit.
#   2.0, 2.5: 3 licence grant (ND: "otherwise you have no rights to make Derivative Works"), 4(b), 4(c), 4(d) likewise.
#   1.0: 3, 4(b), 4(c) likewise.
#   CC0 1.0: 2 waiver, 3 public licence fallback: no condition at all.
TEXTS = {
    "by": (False, False, False, False, True),
    "by-sa": (False, False, False, True, True),
    "by-nc": (False, False, True, False, True),
    "by-nc-sa": (False, False, True, True, True),
    "by-nd": (True, True, False, False, True),
    "by-nc-nd": (True, True, True, False, True),
}
VERSIONS = ("1.0", "2.0", "2.5", "3.0", "4.0")

# The deeds' addresses as their own pages give them, from memory.
ADDRESSES = {
    "CC0-1.0": "https://creativecommons.org/publicdomain/zero/1.0/",
    "CC-PDM-1.0": "https://creativecommons.org/publicdomain/mark/1.0/",
    "CC-BY-4.0": "https://creativecommons.org/licenses/by/4.0/",
    "CC-BY-SA-3.0": "https://creativecommons.org/licenses/by-sa/3.0/",
    "CC-BY-NC-2.5": "https://creativecommons.org/licenses/by-nc/2.5/",
    "CC-BY-NC-SA-2.0": "https://creativecommons.org/licenses/by-nc-sa/2.0/",
    "CC-BY-ND-1.0": "https://creativecommons.org/licenses/by-nd/1.0/",
    "CC-BY-NC-ND-1.0": "https://creativecommons.org/licenses/by-nd-nc/1.0/",
    "CC-BY-NC-ND-4.0": "https://creativecommons.org/licenses/by-nc-nd/4.0/",
    "CC-BY-SA-2.0-UK": "https://creativecommons.org/licenses/by-sa/2.0/uk/",
    "CC-BY-3.0-IGO": "https://creativecommons.org/licenses/by/3.0/igo/",
}


@pytest.mark.parametrize("key", sorted(set(LICENCES) - OURS))
def test_every_id_is_one_of_spdx(key: str) -> None:
    assert not SPDX.validate(key, strict=True).errors


@pytest.mark.parametrize("key", ["CC-BY-NC-5.0", "CC-BY-2.1", "CC-BY-4.0-UK", *sorted(OURS)])
def test_spdx_knows_no_others(key: str) -> None:
    assert SPDX.validate(key, strict=True).errors


def test_whatever_spdx_lists_of_the_six_families_is_read_and_keeps_its_id() -> None:
    families = [key for key in SPDX.known_symbols if key.startswith("CC-BY-")]
    assert len(families) > 40
    for key in families:
        licence = read_licence(key)
        assert licence is not None, key
        assert licence.id == key
        assert read_licence(licence.url) == licence


@pytest.mark.parametrize("address", [f"https://creativecommons.org/licenses/by-nd/{version}/cz/" for version in ("2.5", "3.0")])
def test_a_port_that_spdx_does_not_list_falls_back_to_a_listed_id_and_keeps_its_address(address: str) -> None:
    licence = read_licence(address)
    assert licence is not None
    assert licence.url == address
    assert not SPDX.validate(licence.id, strict=True).errors


@pytest.mark.parametrize(("family", "version"), [(family, version) for family in TEXTS for version in VERSIONS])
def test_the_rules_are_those_of_the_texts(family: str, version: str) -> None:
    licence = LICENCES[f"CC-{family.upper()}-{version}"]
    no_derivatives, not_even_private, no_pay, share_alike, credit = TEXTS[family]
    assert licence.allows_change is not no_derivatives
    assert licence.allows_private_change is not (not_even_private and version != "4.0")
    assert licence.allows_pay is not no_pay
    assert licence.shares_alike is share_alike
    assert licence.asks_credit is credit


@pytest.mark.parametrize("key", ["CC0-1.0", "CC-PDM-1.0"])
def test_what_is_free_asks_nothing(key: str) -> None:
    licence = LICENCES[key]
    assert licence.allows_change
    assert licence.allows_pay
    assert not licence.shares_alike
    assert not licence.asks_credit


@pytest.mark.parametrize(("key", "address"), ADDRESSES.items())
def test_addresses(key: str, address: str) -> None:
    licence = read_licence(key)
    assert licence is not None
    assert licence.url == address
    assert read_licence(address) == licence

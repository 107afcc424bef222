"""Licences: every family and version by address and by id, and nothing else."""

from __future__ import annotations

import re

import pytest

from drillhall.core.licences import ALL_RIGHTS_RESERVED, HOW_TO_WRITE_ONE, LICENCES, WITH_PERMISSION, read_licence


def test_the_six_families_stand_in_each_version() -> None:
    assert len(LICENCES) == 2 + 5 * 6 + 2
    assert all(read_licence(key) == licence for key, licence in LICENCES.items())
    assert all(read_licence(licence.url) == licence for licence in LICENCES.values() if licence.url)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("https://creativecommons.org/licenses/by/4.0/", "CC-BY-4.0"),
        ("http://creativecommons.org/licenses/by/4.0", "CC-BY-4.0"),
        ("  https://www.creativecommons.org/licenses/by-nc-sa/2.5/deed.de ", "CC-BY-NC-SA-2.5"),
        ("https://creativecommons.org/licenses/by/4.0/legalcode", "CC-BY-4.0"),
        ("https://creativecommons.org/licenses/by-nd-nc/1.0/", "CC-BY-NC-ND-1.0"),
        ("https://creativecommons.org/publicdomain/zero/1.0/", "CC0-1.0"),
        ("HTTP://creativecommons.org/publicdomain/mark/1.0", "CC-PDM-1.0"),
        ("cc-by-sa-3.0", "CC-BY-SA-3.0"),
        ("CC BY-NC 4.0", "CC-BY-NC-4.0"),
        ("CC0", "CC0-1.0"),
        ("LicenseRef-all-rights-reserved", "LicenseRef-all-rights-reserved"),
    ],
)
def test_read_licence_knows_addresses_and_ids(text: str, key: str) -> None:
    assert read_licence(text) == LICENCES[key]


def test_a_port_keeps_its_exact_address_under_the_id_of_its_version() -> None:
    for text in ("https://creativecommons.org/licenses/by/2.0/uk/", "CC-BY-2.0-UK"):
        licence = read_licence(text)
        assert licence is not None
        assert (licence.id, licence.url) == ("CC-BY-2.0", "https://creativecommons.org/licenses/by/2.0/uk/")
        assert licence.name == "CC BY 2.0 UK"


@pytest.mark.parametrize(
    "text", ["https://creativecommons.org/licenses/by/2.0/xx/", "CC-BY-SA-3.0-QQ", "https://creativecommons.org/licenses/by/3.0/gb/"]
)
def test_a_country_without_a_text_of_its_own_is_no_licence(text: str) -> None:
    assert read_licence(text) is None


@pytest.mark.parametrize(
    ("address", "key"),
    [
        ("https://creativecommons.org/licenses/by-sa/2.0/uk/", "CC-BY-SA-2.0-UK"),
        ("https://creativecommons.org/licenses/by-sa/2.1/jp/deed.ja", "CC-BY-SA-2.1-JP"),
        ("https://creativecommons.org/licenses/by/3.0/igo/legalcode", "CC-BY-3.0-IGO"),
        ("https://creativecommons.org/licenses/by-nd/2.5/scotland/", "CC-BY-ND-2.5"),
        ("https://creativecommons.org/licenses/by-nc/2.1/es/", "LicenseRef-CC-BY-NC-2.1-ES"),
    ],
)
def test_a_port_goes_by_its_own_id_where_it_has_one(address: str, key: str) -> None:
    licence = read_licence(address)
    assert licence is not None
    assert licence.id == key
    assert read_licence(licence.url) == licence


@pytest.mark.parametrize(
    "text",
    [
        "",
        "mine",
        "CC-BY-NC-5.0",
        "CC-BY-ND-SA-4.0",
        "CC-BY-4.0-UK",
        "CC-BY-2.1",
        "https://creativecommons.org/licenses/by/2.1/",
        "https://creativecommons.org/licenses/by/3.0/nowhere/",
        "https://creativecommons.org/licenses/nc/1.0/",
        "https://creativecommons.org/licenses/by/9.0/",
        "https://creativecommons.org/publicdomain/zero/2.0/",
        "https://creativecommons.org.club.example/licenses/by/4.0/",
        "javascript:https://creativecommons.org/licenses/by/4.0/",
        "https://creativecommons.org/licenses/by/4.0/\nX",
    ],
)
def test_read_licence_knows_nothing_else(text: str) -> None:
    assert read_licence(text) is None


def test_what_is_told_to_be_written_can_be_read() -> None:
    named = re.findall(r"(?:CC|LicenseRef)[\w.-]*\w", HOW_TO_WRITE_ONE)
    assert [found.id for found in map(read_licence, named) if found] == named
    assert {ALL_RIGHTS_RESERVED.id, WITH_PERMISSION.id} < set(named)

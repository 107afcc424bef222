"""Rights that are refused: what they rest on is missing, or they contradict themselves; each with its field and sentence."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from drillhall.core.licences import ALL_RIGHTS_RESERVED, CC0, LICENCES, PUBLIC_DOMAIN_MARK, WITH_PERMISSION
from drillhall.core.rights import Purpose, Rights, check_entry, check_rights, columns
from drillhall.errors import BadRights

DAY = date(2031, 5, 4)
PERMITTED = Rights("Ada Mudd", WITH_PERMISSION, "Ada Mudd", granted_by="Ada Mudd", granted_on=date(2031, 4, 1), until=date(2032, 4, 1))
MARKED = Rights("Ada Mudd", PUBLIC_DOMAIN_MARK, "Ada Mudd", granted_by="The Flats Museum", evidence="Painted in 1820.")


@pytest.mark.parametrize("rights", [Rights(), Rights("Ada Mudd", CC0, "Ada Mudd"), PERMITTED, MARKED, replace(PERMITTED, until=DAY)])
def test_what_is_whole_comes_back_as_it_came(rights: Rights) -> None:
    assert check_entry(rights, on=DAY) is rights


@pytest.mark.parametrize("field", ["creator", "credit"])
def test_a_licence_without_maker_or_credit_is_refused(field: str) -> None:
    rights = replace(Rights("Ada Mudd", CC0, "Ada Mudd"), **{field: " "})
    with pytest.raises(BadRights, match="or choose no licence") as caught:
        check_rights(rights)
    assert caught.value.field == field
    assert not columns(rights).may_group


def test_without_a_licence_nothing_more_is_asked_and_nothing_agreed() -> None:
    assert check_rights(Rights()) == Rights()
    with pytest.raises(BadRights, match="under which licence"):
        check_rights(Rights(agreed=frozenset({Purpose.GROUP})))


@pytest.mark.parametrize("licence", [None, CC0, ALL_RIGHTS_RESERVED, LICENCES["CC-BY-4.0"]])
def test_nothing_but_a_permission_ends(licence: object) -> None:
    with pytest.raises(BadRights, match="Only a permission ends on a day") as caught:
        check_rights(replace(PERMITTED, licence=licence))
    assert caught.value.field == "until"


@pytest.mark.parametrize(
    ("rights", "field", "sentence"),
    [
        (replace(PERMITTED, granted_by=" "), "granted_by", "Say who gave the permission."),
        (replace(PERMITTED, granted_on=None), "granted_on", "Say when the permission was given."),
        (replace(PERMITTED, granted_on=date(2031, 5, 5)), "granted_on", "The permission is dated in the future."),
        (replace(PERMITTED, until=date(2031, 5, 3)), "until", "The permission ended on 2031-05-03."),
        (replace(PERMITTED, until=date(2031, 3, 31)), "until", "The permission ends before it was given."),
        (replace(MARKED, evidence="\t"), "evidence", "Say why nobody has rights in it any more"),
        (replace(MARKED, granted_by=""), "granted_by", "Say who says that nobody has rights"),
        (replace(MARKED, evidence="", statement="By its age."), "evidence", "Say why nobody has rights in it any more."),
        (replace(PERMITTED, data_mining="perhaps"), "data_mining", "Choose from the list whether machines"),
        (replace(PERMITTED, data_mining="DMI-"), "data_mining", "Choose from the list whether machines"),
    ],
)
def test_what_a_person_must_still_say(rights: Rights, field: str, sentence: str) -> None:
    with pytest.raises(BadRights) as caught:
        check_entry(rights, on=DAY)
    assert caught.value.field == field
    assert caught.value.sentence.startswith(sentence)


def test_a_row_of_a_catalogue_may_give_the_reason_of_a_mark_as_its_statement() -> None:
    by_row = replace(MARKED, granted_by="", evidence="", statement="No known copyright.")
    assert check_rights(by_row) is by_row
    with pytest.raises(BadRights, match="a mark alone is somebody's word"):
        check_rights(replace(by_row, statement=""))


def test_a_key_of_data_mining_that_we_do_not_offer_is_carried_through() -> None:
    said = replace(PERMITTED, data_mining="DMI-PROHIBITED-SEECONSTRAINT")
    assert check_rights(said) is said

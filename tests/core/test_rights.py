"""Rights: every licence against the matrix typed here by hand, and columns against verdicts over every viewer and purpose."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import product

import pytest

from drillhall.core.licences import ALL_RIGHTS_RESERVED, CC0, LICENCES, WITH_PERMISSION, read_licence
from drillhall.core.rights import Purpose, Rights, check_rights, columns, credit_line, may, short_credit
from drillhall.errors import BadRights

OWNER, OTHER, DAY = 1, 2, date(2031, 5, 4)

# group, public, altered and shown, paid, altered for oneself.
# Source: the licence texts of CC BY, BY-SA, BY-NC, BY-NC-SA, BY-ND, BY-NC-ND 4.0 (section 2, a and section 3) and 2.0/3.0
# (no right to make derivatives at all under ND), CC0 1.0; the mark and the last three rows are this hall's own careful rule.
MATRIX = {
    "CC0-1.0": "yyyyy",
    "CC-PDM-1.0": "yyyyy",
    "CC-BY-4.0": "yyyyy",
    "CC-BY-SA-4.0": "yyyyy",
    "CC-BY-NC-4.0": "yyyny",
    "CC-BY-NC-SA-4.0": "yyyny",
    "CC-BY-ND-4.0": "yynyy",
    "CC-BY-NC-ND-4.0": "yynny",
    "CC-BY-2.0": "yyyyy",
    "CC-BY-ND-3.0": "yynyn",
    "CC-BY-NC-ND-2.0": "yynnn",
    "LicenseRef-all-rights-reserved": "nnnny",
    "LicenseRef-used-with-permission": "nnnnn",
    "": "nnnnn",
}


def rights_under(key: str, **more: object) -> Rights:
    return replace(Rights("Ada Mudd", LICENCES[key] if key else None, "Ada Mudd"), **more)


def allowed(rights: Rights, viewer: int | None, purpose: Purpose, on: date = DAY, owner: int | None = OWNER) -> bool:
    return may(rights, owner_id=owner, viewer_id=viewer, purpose=purpose, on=on).allowed


@pytest.mark.parametrize("key", MATRIX)
def test_the_matrix_row_by_row(key: str) -> None:
    rights = rights_under(key)
    told = [allowed(rights, OTHER, purpose) for purpose in (Purpose.GROUP, Purpose.PUBLIC, Purpose.ALTERED, Purpose.PAID)]
    told.append(allowed(rights, OWNER, Purpose.ALTERED))
    assert "".join("y" if one else "n" for one in told) == MATRIX[key]


AGREED = [
    frozenset(),
    frozenset({Purpose.GROUP}),
    frozenset({Purpose.PUBLIC}),
    frozenset({Purpose.ALTERED}),
    frozenset({Purpose.GROUP, Purpose.ALTERED, Purpose.PAID}),
]
COLUMN = {
    Purpose.GROUP: "may_group",
    Purpose.PRINT: "may_group",
    Purpose.WALL: "may_group",
    Purpose.OPEN_QUESTION: "may_public",
    Purpose.PUBLIC: "may_public",
    Purpose.EXPORT: "may_public",
    Purpose.ALTERED: "may_alter",
    Purpose.PAID: "may_paid",
}


@pytest.mark.parametrize(("key", "agreed"), list(product(["", *LICENCES], AGREED)))
def test_columns_and_verdicts_agree(key: str, agreed: frozenset[Purpose]) -> None:
    for creator, until, owner, viewer, purpose in product(
        ("", "Ada Mudd"), (None, DAY, date(2031, 5, 3)), (OWNER, None), (OWNER, OTHER, None), Purpose
    ):
        rights = rights_under(key, creator=creator, agreed=agreed, until=until)
        kept = columns(rights)
        verdict = may(rights, owner_id=owner, viewer_id=viewer, purpose=purpose, on=DAY)
        assert verdict.reason.endswith(".")
        is_owner = owner is not None and viewer == owner
        if until is not None and until < DAY:
            assert not verdict.allowed
        elif is_owner and purpose in (Purpose.OWN, Purpose.GROUP, Purpose.PRINT):
            assert verdict.allowed
        elif is_owner and purpose is Purpose.ALTERED:
            # Nobody may show others what she may not make for herself.
            assert verdict.allowed or not kept.may_alter
        elif purpose is Purpose.OWN:
            assert not verdict.allowed
        else:
            has_account = viewer is not None or COLUMN[purpose] == "may_public"
            assert verdict.allowed == (getattr(kept, COLUMN[purpose]) and has_account)
        assert kept.may_group or not (kept.may_public or kept.may_alter or kept.may_paid)


def test_a_picture_whose_owner_is_gone_belongs_to_no_visitor() -> None:
    private = rights_under("")
    assert not allowed(private, None, Purpose.OWN, owner=None)
    assert not allowed(private, None, Purpose.GROUP, owner=None)


def test_a_permission_ends_after_its_last_day_and_says_so() -> None:
    rights = rights_under(WITH_PERMISSION.id, agreed=frozenset({Purpose.GROUP}), until=DAY)
    assert allowed(rights, OTHER, Purpose.GROUP)
    late = may(rights, owner_id=OWNER, viewer_id=OTHER, purpose=Purpose.GROUP, on=date(2031, 5, 5))
    assert not late.allowed
    assert late.reason == "The permission ended on 2031-05-04."


def test_a_denial_names_the_licence() -> None:
    verdict = may(rights_under("CC-BY-ND-4.0"), owner_id=OWNER, viewer_id=OTHER, purpose=Purpose.ALTERED, on=DAY)
    assert verdict.reason == "CC BY-ND 4.0 allows no altered copies: it is shown whole and as it is."


@pytest.mark.parametrize("field", ["creator", "credit"])
def test_a_licence_without_maker_or_credit_is_refused(field: str) -> None:
    rights = rights_under("CC0-1.0", **{field: " "})
    with pytest.raises(BadRights, match="or choose no licence") as caught:
        check_rights(rights)
    assert caught.value.field == field
    assert not columns(rights).may_group


def test_without_a_licence_nothing_more_is_asked_and_nothing_agreed() -> None:
    assert check_rights(Rights()) == Rights()
    with pytest.raises(BadRights, match="under which licence"):
        check_rights(Rights(agreed=frozenset({Purpose.GROUP})))


def test_all_rights_reserved_goes_as_far_as_its_owner_agreed() -> None:
    rights = rights_under(ALL_RIGHTS_RESERVED.id, agreed=frozenset({Purpose.GROUP}))
    assert allowed(rights, OTHER, Purpose.GROUP)
    assert not allowed(rights, OTHER, Purpose.PUBLIC)
    assert not allowed(rights, OTHER, Purpose.ALTERED)


def test_the_whole_credit_holds_all_parts_and_the_short_one_gives_nothing_away() -> None:
    rights = Rights("Ada Mudd", read_licence("CC-BY-2.0"), "A. Mudd / Flats Club", source="https://club.example/17", title="Young dunlin")
    assert credit_line(rights, "Photograph", altered="cropped") == (
        "Photograph: “Young dunlin” by Ada Mudd, A. Mudd / Flats Club, https://club.example/17, "
        "CC BY 2.0 (https://creativecommons.org/licenses/by/2.0/), cropped"
    )
    assert short_credit(rights) == "Photograph: Ada Mudd, CC BY 2.0"
    assert short_credit(Rights(), "Drawing") == "Drawing: maker not named, no licence given"
    assert credit_line(Rights("Ada Mudd", CC0, "Ada Mudd"), "Drawing").count("Ada Mudd") == 1

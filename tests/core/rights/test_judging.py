"""Rights: every licence against the matrix typed here by hand, and columns against verdicts over every viewer and purpose."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import chain, combinations, product

import pytest

from drillhall.core.licences import ALL_RIGHTS_RESERVED, LICENCES, WITH_PERMISSION, read_licence
from drillhall.core.rights import ASKED, Purpose, Rights, columns, may

OWNER, OTHER, DAY, YESTERDAY = 1, 2, date(2031, 5, 4), date(2031, 5, 3)
PORTS = ("CC-BY-SA-2.0-UK", "CC-BY-NC-SA-3.0-DE", "CC-BY-ND-3.0-DE", "CC-BY-NC-ND-3.0-IGO")

# Columns: group, public, altered and shown, paid, altered for oneself.
# Source: the licence texts of CC BY, BY-SA, BY-NC, BY-NC-SA, BY-ND, BY-NC-ND 4.0 (sections 1 to 3), 3.0 and 2.0 (section 3, which
# under ND grants no right to make derivatives at all) and CC0 1.0 (section 2); the mark and the last three rows are this hall's
# own careful rule.
MATRIX = {
    "CC0-1.0": "yyyyy",
    "CC-PDM-1.0": "yyyyy",
    "CC-BY-4.0": "yyyyy",
    "CC-BY-SA-4.0": "yyyyy",
    "CC-BY-NC-4.0": "yyyny",
    "CC-BY-NC-SA-4.0": "yyyny",
    "CC-BY-ND-4.0": "yynyy",
    "CC-BY-NC-ND-4.0": "yynny",
    **{f"CC-BY-{version}": "yyyyy" for version in ("1.0", "2.0", "2.5", "3.0")},
    **{f"CC-BY-SA-{version}": "yyyyy" for version in ("1.0", "2.0", "2.5", "3.0")},
    **{f"CC-BY-NC-{version}": "yyyny" for version in ("1.0", "2.0", "2.5", "3.0")},
    **{f"CC-BY-NC-SA-{version}": "yyyny" for version in ("1.0", "2.0", "2.5", "3.0")},
    **{f"CC-BY-ND-{version}": "yynyn" for version in ("1.0", "2.0", "2.5", "3.0")},
    **{f"CC-BY-NC-ND-{version}": "yynnn" for version in ("1.0", "2.0", "2.5", "3.0")},
    "CC-BY-SA-2.0-UK": "yyyyy",
    "CC-BY-NC-SA-3.0-DE": "yyyny",
    "CC-BY-ND-3.0-DE": "yynyn",
    "CC-BY-NC-ND-3.0-IGO": "yynnn",
    "LicenseRef-all-rights-reserved": "nnnny",
    "LicenseRef-used-with-permission": "nnnnn",
    "": "nnnnn",
}
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
FOR_HERSELF = (Purpose.OWN, Purpose.GROUP, Purpose.PRINT, Purpose.EXPORT)
EVERY_AGREEMENT = [frozenset(some) for some in chain.from_iterable(combinations(ASKED, count) for count in range(len(ASKED) + 1))]


def rights_under(key: str, **more: object) -> Rights:
    licence = read_licence(key) if key else None
    assert licence is not None or not key
    return replace(Rights("Ada Mudd", licence, "Ada Mudd", evidence="Its maker died in 1901."), **more)


def allowed(rights: Rights, viewer: int | None, purpose: Purpose, on: date = DAY, owner: int | None = OWNER) -> bool:
    return may(rights, owner_id=owner, viewer_id=viewer, purpose=purpose, on=on).allowed


def test_the_matrix_has_a_row_for_whatever_the_hall_knows() -> None:
    assert set(MATRIX) == {"", *LICENCES, *PORTS}


@pytest.mark.parametrize("key", MATRIX)
def test_the_matrix_row_by_row(key: str) -> None:
    rights = rights_under(key)
    told = [allowed(rights, OTHER, purpose) for purpose in (Purpose.GROUP, Purpose.PUBLIC, Purpose.ALTERED, Purpose.PAID)]
    told.append(allowed(rights, OWNER, Purpose.ALTERED))
    assert "".join("y" if one else "n" for one in told) == MATRIX[key]


@pytest.mark.parametrize("key", MATRIX)
def test_every_purpose_follows_from_the_five_of_the_matrix(key: str) -> None:
    rights, row = rights_under(key), MATRIX[key]
    for purpose in Purpose:
        assert allowed(rights, OWNER, purpose) == (purpose in FOR_HERSELF or _others(row, purpose, own=True))
        assert allowed(rights, OTHER, purpose) == (purpose is not Purpose.OWN and _others(row, purpose))
        assert allowed(rights, None, purpose) == (COLUMN.get(purpose) == "may_public" and row[1] == "y")


def _others(row: str, purpose: Purpose, *, own: bool = False) -> bool:
    place = {"may_group": 0, "may_public": 1, "may_alter": 4 if own else 2, "may_paid": 3}[COLUMN[purpose]]
    return row[place] == "y"


@pytest.mark.parametrize("key", MATRIX)
def test_columns_and_verdicts_agree_over_the_whole_product(key: str) -> None:
    for agreed, creator, until, owner, viewer, purpose, reached in product(
        EVERY_AGREEMENT, ("", "Ada Mudd"), (None, DAY, YESTERDAY), (OWNER, None), (OWNER, OTHER, None), Purpose, (True, False)
    ):
        rights = rights_under(key, creator=creator, agreed=agreed, until=until)
        kept = columns(rights)
        verdict = may(rights, owner_id=owner, viewer_id=viewer, purpose=purpose, on=DAY, is_reached=reached)
        assert verdict.reason.endswith(".")
        is_owner = owner is not None and viewer == owner
        if until == YESTERDAY:
            assert not verdict.allowed
        elif is_owner and purpose in FOR_HERSELF:
            assert verdict.allowed
        elif is_owner and purpose is Purpose.ALTERED:
            # Nobody may show others what she may not make for herself.
            assert verdict.allowed or not kept.may_alter
        elif purpose is Purpose.OWN:
            assert not verdict.allowed
        else:
            has_account = viewer is not None or COLUMN[purpose] == "may_public"
            assert verdict.allowed == (getattr(kept, COLUMN[purpose]) and has_account and reached)
        assert kept.may_group or not (kept.may_public or kept.may_alter or kept.may_paid)
        assert kept.may_until == until


def test_a_picture_whose_owner_is_gone_belongs_to_no_visitor() -> None:
    private = rights_under("")
    assert not allowed(private, None, Purpose.OWN, owner=None)
    assert not allowed(private, None, Purpose.GROUP, owner=None)


def test_a_permission_ends_for_everybody_after_its_last_day_and_says_so() -> None:
    rights = rights_under(WITH_PERMISSION.id, agreed=frozenset({Purpose.GROUP}), until=DAY)
    assert allowed(rights, OTHER, Purpose.GROUP)
    for viewer, purpose in product((OWNER, OTHER, None), Purpose):
        late = may(rights, owner_id=OWNER, viewer_id=viewer, purpose=purpose, on=date(2031, 5, 5))
        assert not late.allowed
        assert late.reason == "The permission ended on 2031-05-04: nobody is shown it any more."


def test_a_denial_names_the_licence() -> None:
    verdict = may(rights_under("CC-BY-ND-4.0"), owner_id=OWNER, viewer_id=OTHER, purpose=Purpose.ALTERED, on=DAY)
    assert verdict.reason == "CC BY-ND 4.0 allows no altered copies: it is shown whole and as it is."


@pytest.mark.parametrize(
    ("key", "purpose", "reason"),
    [
        ("CC-BY-SA-4.0", Purpose.ALTERED, "CC BY-SA 4.0 allows it; an altered copy goes on under the same licence."),
        ("CC-BY-NC-4.0", Purpose.EXPORT, "CC BY-NC 4.0 allows it where nobody pays."),
        ("CC-BY-4.0", Purpose.GROUP, "CC BY 4.0 allows it with its credit."),
        ("CC0-1.0", Purpose.GROUP, "CC0 1.0 allows it."),
    ],
)
def test_a_consent_names_its_condition(key: str, purpose: Purpose, reason: str) -> None:
    assert may(rights_under(key), owner_id=OWNER, viewer_id=OTHER, purpose=purpose, on=DAY).reason == reason


def test_rights_alone_show_nothing_to_whom_the_picture_has_not_reached() -> None:
    verdict = may(rights_under("CC0-1.0"), owner_id=OWNER, viewer_id=OTHER, purpose=Purpose.GROUP, on=DAY, is_reached=False)
    assert not verdict.allowed
    assert verdict.reason == "It is shared with no group of yours and stands in no catalogue."


def test_all_rights_reserved_goes_as_far_as_its_owner_agreed() -> None:
    rights = rights_under(ALL_RIGHTS_RESERVED.id, agreed=frozenset({Purpose.GROUP}))
    assert allowed(rights, OTHER, Purpose.GROUP)
    assert not allowed(rights, OTHER, Purpose.PUBLIC)
    assert not allowed(rights, OTHER, Purpose.ALTERED)

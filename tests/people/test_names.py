"""Names: what may be one, and when two are the same."""

from __future__ import annotations

import pytest

from drillhall.errors import Invalid
from drillhall.people.names import clean_name, fold_name
from tests.cast import LEARNER


@pytest.mark.parametrize(
    ("typed", "same"),
    [
        (LEARNER.name, LEARNER.name.upper()),
        ("Straße", "STRASSE"),
        ("Zoe\u0308", "Zoë"),  # put together or in one
        ("\ufb01nn", "Finn"),  # a ligature
        ("  Oda \t Querfurth ", "oda querfurth"),
        ("ΣΊΣΥΦΟΣ", "σίσυφος"),
    ],
)
def test_names_that_read_alike_are_one(typed: str, same: str) -> None:
    assert fold_name(typed) == fold_name(same)


@pytest.mark.parametrize(("one", "other"), [("Oda", "Ode"), ("Ana", "Aña"), ("oda1", "oda2")])
def test_names_that_differ_stay_apart(one: str, other: str) -> None:
    assert fold_name(one) != fold_name(other)


def test_a_name_is_kept_as_typed_but_for_stray_spaces() -> None:
    assert clean_name("  Oda   van der  Querfurth ") == "Oda van der Querfurth"


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("", "Write a name"),
        (" \t ", "Write a name"),
        ("a" * 61, "60 is the most"),
        ("Oda\u202eadO", "cannot be seen"),  # turns the direction of reading
        ("O\u200bda", "cannot be seen"),  # a space without width
        ("O\x00da", "cannot be seen"),
        ("...", "at least one letter"),
    ],
)
def test_what_is_no_name_is_refused(typed: str, why: str) -> None:
    with pytest.raises(Invalid, match=why) as caught:
        clean_name(typed)
    assert caught.value.field == "name"


def test_a_name_that_grows_when_folded_must_still_fit() -> None:
    # U+1F80 folds to two letters (Unicode, CaseFolding.txt, status F), so sixty of them fill the column to its last place.
    assert len(fold_name(clean_name("\u1f80" * 60))) == 120
    # Arabic ligature Uighur kirghiz yeh with hamza above with alef maksura: NFKC spells it with three letters.
    with pytest.raises(Invalid, match="60 is the most"):
        clean_name("\ufbf9" * 60)


@pytest.mark.parametrize("typed", ["\ud800", "a\x00b"])
def test_what_cannot_stand_in_a_database_can_be_compared_all_the_same(typed: str) -> None:
    fold_name(typed).encode()
    with pytest.raises(Invalid):
        clean_name(typed)

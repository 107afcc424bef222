"""Two forms bear one name under one list and two under another; they are told apart, asked and remembered either way."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import FolderCatalogue, FolderForm, FolderMapping, FolderName, FolderPair, FolderTrait
from drillhall.catalogues.folder import FolderState as State
from drillhall.catalogues.folder import SaidChance as Chance
from drillhall.catalogues.writing.rows import write_rows
from drillhall.core.kinds import form as form_kind
from drillhall.core.traits import order_of_telling
from drillhall.core.values import Pair
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.naming import known_lists
from drillhall.practice.reader import Reader
from drillhall.store.models.concepts import PairRow
from drillhall.store.session import Store

AT = datetime(2031, 3, 3, tzinfo=UTC)
LUMPING, SPLITTING = "Lumping list 2031", "Splitting list 2031"
BAR = FolderTrait("bar", "Bar at the breast side", "side", "pattern", (State("white", "white"), State("none", "none")))
STRIPE = FolderTrait("stripe", "Stripe above the flank", "side", "pattern", (State("white", "white"), State("none", "none")))


def teal(*, said_here: bool) -> FolderCatalogue:
    """Return a catalogue of two teal after the splitting list; what the lumping list calls them is said here, or elsewhere."""
    lumped = (FolderName(LUMPING, "Fictanas crecca", "Small teal"),) if said_here else ()
    always, never = Chance("always"), Chance("never")
    return FolderCatalogue(
        key="two-teal",
        title="Two teal",
        subject="bird",
        list_name=SPLITTING,
        traits=(BAR, STRIPE),
        forms=(
            FolderForm(
                "upright",
                "Fictanas erecta",
                "Upright teal",
                "split/erecta",
                sex="male",
                also_named=lumped,
                traits={"bar": {"white": always}, "stripe": {"white": never}},
            ),
            FolderForm(
                "lying",
                "Fictanas crecca",
                "Lying teal",
                "split/crecca",
                sex="male",
                also_named=lumped,
                traits={"bar": {"white": never}, "stripe": {"white": always}},
            ),
        ),
        pairs=(FolderPair(("upright", "lying")),),
    )


def lumping() -> FolderCatalogue:
    """Return a catalogue after the lumping list, whose one concept includes both."""
    mappings = tuple(FolderMapping("lump/crecca", "includes", f"split/{name}", LUMPING) for name in ("crecca", "erecta"))
    small = FolderForm("small", "Fictanas crecca", "Small teal", "lump/crecca")
    return FolderCatalogue(key="lumped", title="Lumped", subject="bird", list_name=LUMPING, forms=(small,), mappings=mappings)


def the_pair(db: Session, catalogue_id: int, list_name: str) -> Pair:
    pair_id = db.scalars(select(PairRow.id)).one()
    return lore_of_pairs(db, catalogue_id, [pair_id], reader=Reader(list_name=list_name))[pair_id].pair


@pytest.mark.parametrize("said_here", [True, False])
def test_two_teal_bear_one_name_under_one_list_and_two_under_another(store: Store, said_here: bool) -> None:
    """Common practice, no source: an upright white bar against a lying white stripe tell two teal that some authorities lump."""
    with store.work() as db:
        if not said_here:
            write_rows(db, lumping(), at=AT)
        catalogue_id = write_rows(db, teal(said_here=said_here), at=AT).catalogue_id
        apart, together = the_pair(db, catalogue_id, SPLITTING), the_pair(db, catalogue_id, LUMPING)
    assert {apart.first.name, apart.second.name} == {"Upright teal", "Lying teal"}
    assert apart.first.wears == apart.second.wears == "male"
    assert together.first.name == together.second.name == "Small teal"
    assert together.first.scientific_name == together.second.scientific_name == "Fictanas crecca"
    # One pair with one history, and a question that has two answers under either list.
    assert together.id == apart.id
    assert {together.first.wears, together.second.wears} == {"male, Upright teal", "male, Lying teal"}
    ask = form_kind.make_ask(together, together.first.id, neither=False)
    assert ask.choices == (str(apart.first.id), str(apart.second.id))


@pytest.mark.parametrize("list_name", [SPLITTING, LUMPING])
def test_the_same_traits_decide_under_either_list(sqlite_store: Store, list_name: str) -> None:
    with sqlite_store.work() as db:
        catalogue_id = write_rows(db, teal(said_here=True), at=AT).catalogue_id
        pair_id = db.scalars(select(PairRow.id)).one()
        lore = lore_of_pairs(db, catalogue_id, [pair_id], reader=Reader(list_name=list_name))[pair_id]
    assert [(worth.trait.key, worth.decides) for worth in order_of_telling(lore)] == [("bar", True), ("stripe", True)]


def test_a_list_without_a_word_on_them_leaves_the_catalogues_names(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        catalogue_id = write_rows(db, teal(said_here=True), at=AT).catalogue_id
        pair = the_pair(db, catalogue_id, "No list of this hall")
        assert {pair.first.name, pair.second.name} == {"Upright teal", "Lying teal"}
        assert known_lists(db) == (LUMPING, SPLITTING)


def test_a_name_that_stays_the_same_is_told_apart_by_its_scientific_one(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        said = teal(said_here=True)
        forms = tuple(replace(form, vernacular_name="Small teal") for form in said.forms)
        pair = the_pair(db, write_rows(db, replace(said, forms=forms), at=AT).catalogue_id, LUMPING)
    assert {pair.first.wears, pair.second.wears} == {"male, Fictanas erecta", "male, Fictanas crecca"}


def test_the_sexes_of_one_concept_get_no_finer_name(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        said = teal(said_here=True)
        female = replace(said.forms[0], key="female", sex="female")
        one_concept = replace(said, forms=(said.forms[0], female), pairs=(FolderPair(("upright", "female")),))
        pair = the_pair(db, write_rows(db, one_concept, at=AT).catalogue_id, LUMPING)
    assert {pair.first.wears, pair.second.wears} == {"male", "female"}

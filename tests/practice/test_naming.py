"""Two forms bear one name under one list and two under another; they are told apart, asked and remembered either way."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import FolderCalled, FolderCatalogue, FolderForm, FolderMapping, FolderName, FolderPair, FolderTrait
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
from drillhall.words import speak

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


def test_one_common_name_for_two_scientific_ones_is_told_apart_too(sqlite_store: Store) -> None:
    """Common practice, no source: lists that take two for subspecies of one species call both alike."""
    with sqlite_store.work() as db:
        said = teal(said_here=True)
        races = [
            (FolderName(LUMPING, f"Fictanas crecca {race}", common),)
            for race, common in (("erecta", "Small teal"), ("crecca", "small Teal"))
        ]
        forms = tuple(replace(form, also_named=race) for form, race in zip(said.forms, races, strict=True))
        pair = the_pair(db, write_rows(db, replace(said, forms=forms), at=AT).catalogue_id, LUMPING)
    assert pair.first.name.casefold() == pair.second.name.casefold() == "small teal"
    assert {pair.first.wears, pair.second.wears} == {"male, Upright teal", "male, Lying teal"}


def test_the_sexes_of_one_concept_get_no_finer_name(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        said = teal(said_here=True)
        female = replace(said.forms[0], key="female", sex="female")
        one_concept = replace(said, forms=(said.forms[0], female), pairs=(FolderPair(("upright", "female")),))
        pair = the_pair(db, write_rows(db, one_concept, at=AT).catalogue_id, LUMPING)
    assert {pair.first.wears, pair.second.wears} == {"male", "female"}


def in_german(db: Session, said: FolderCatalogue, list_name: str = SPLITTING, *, language: str = "de") -> dict[str, tuple[str, str]]:
    """Return name and its language by scientific name under the splitting list, as a reader of German is told."""
    catalogue_id = write_rows(db, said, at=AT).catalogue_id
    with speak(language):
        pair = the_pair(db, catalogue_id, list_name)
    return {form.scientific_name: (form.name, form.language) for form in (pair.first, pair.second)}


def called(said: FolderCatalogue, **names: str) -> FolderCatalogue:
    """Return the catalogue with names in German by its forms' keys."""
    tag = "de-AT" if said.key == "austrian" else "de"
    return replace(
        said, forms=tuple(replace(one, called=(FolderCalled(tag, names[one.key]),) if one.key in names else ()) for one in said.forms)
    )


def test_a_form_is_told_in_the_readers_language_else_as_the_catalogue_calls_it(store: Store) -> None:
    with store.work() as db:
        said = called(teal(said_here=True), upright="Stehente")
        assert in_german(db, said) == {"Fictanas erecta": ("Stehente", "de"), "Fictanas crecca": ("Lying teal", "en")}
        assert in_german(db, said, language="en") == {"Fictanas erecta": ("Upright teal", "en"), "Fictanas crecca": ("Lying teal", "en")}


def test_what_another_catalogue_has_told_the_hall_serves_where_this_one_is_silent(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        write_rows(db, called(replace(teal(said_here=True), key="austrian"), upright="Steherl", lying="Liegerl"), at=AT)
        assert in_german(db, teal(said_here=True)) == {"Fictanas erecta": ("Steherl", "de-AT"), "Fictanas crecca": ("Liegerl", "de-AT")}
        own = called(teal(said_here=True), lying="Liegente")
        assert in_german(db, own) == {"Fictanas erecta": ("Steherl", "de-AT"), "Fictanas crecca": ("Liegente", "de")}


def test_one_name_for_two_concepts_is_left_to_the_catalogue(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        told = in_german(db, called(teal(said_here=True), upright="Krickente", lying="krickente"))
    assert told == {"Fictanas erecta": ("Upright teal", "en"), "Fictanas crecca": ("Lying teal", "en")}


def test_a_catalogue_in_the_readers_language_keeps_its_own_names(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        write_rows(db, called(replace(teal(said_here=True), key="other"), upright="Steherl"), at=AT)
        told = in_german(db, replace(teal(said_here=True), language="de-CH"))
    assert told == {"Fictanas erecta": ("Upright teal", "de-CH"), "Fictanas crecca": ("Lying teal", "de-CH")}


def test_a_list_leaves_the_common_name_in_the_readers_language(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        told = in_german(db, called(teal(said_here=True), upright="Stehente", lying="Liegente"), LUMPING)
    assert told["Fictanas crecca"][0] in {"Stehente", "Liegente"}

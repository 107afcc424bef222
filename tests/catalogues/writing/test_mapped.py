"""Names under other lists and mappings of concepts: read, checked, stored and written again; history follows a congruent concept."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.catalogues.checking import check
from drillhall.catalogues.editing.fields import from_fields, to_fields
from drillhall.catalogues.folder import FolderCalled, FolderCatalogue, FolderForm, FolderMapping, FolderName, FolderPair
from drillhall.catalogues.reading import read_folder
from drillhall.catalogues.writing import learnt_apart, stored_catalogue
from drillhall.catalogues.writing.files import text_files
from drillhall.catalogues.writing.naming import find_forms
from drillhall.catalogues.writing.rows import write_rows
from drillhall.errors import BadImport
from drillhall.store.models.catalogue import StewardRow
from drillhall.store.models.concepts import ConceptRow, FormRow, NameRow, PairRow
from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store

AT = datetime(2031, 3, 3, tzinfo=UTC)
LUMPING, SPLITTING = "Lumping list 2031", "Splitting list 2031"


def teal() -> FolderCatalogue:
    forms = (
        FolderForm("lying", "Fictanas crecca", "Lying teal", "split/crecca", commonness="common"),
        FolderForm("upright", "Fictanas erecta", "Upright teal", "split/erecta", commonness="very rare"),
    )
    lumped = FolderName(LUMPING, "Fictanas crecca", "Small teal")
    return FolderCatalogue(
        key="two-teal",
        title="Two teal",
        subject="bird",
        list_name=SPLITTING,
        forms=tuple(replace(form, also_named=(lumped,), called=(FolderCalled("de", f"{form.key}e Krickente"),)) for form in forms),
        pairs=(FolderPair(("lying", "upright")),),
        mappings=(
            FolderMapping("lump/crecca", "includes", "split/crecca", LUMPING),
            FolderMapping("split/erecta", "isIncludedIn", "lump/crecca"),
        ),
    )


def faults(catalogue: FolderCatalogue, folder: Path) -> str:
    for name, text in text_files(catalogue).items():
        (folder / name).write_text(text, encoding="utf-8")
    return "\n".join(check(read_folder(folder)).lines)


def test_what_is_written_is_read_as_the_same(tmp_path: Path) -> None:
    assert faults(teal(), tmp_path) == ""
    assert read_folder(tmp_path).catalogue == teal()


def test_what_is_stored_comes_out_the_same(store: Store) -> None:
    with store.work() as db:
        catalogue_id = write_rows(db, teal(), at=AT).catalogue_id
        assert stored_catalogue(db, catalogue_id) == teal()
        write_rows(db, replace(teal(), mappings=teal().mappings[:1]), at=AT)
        assert len(stored_catalogue(db, catalogue_id).mappings) == 1
        assert len(db.scalars(select(NameRow).where(NameRow.according_to == LUMPING)).all()) == 2


def test_every_field_has_its_place_in_the_history() -> None:
    assert from_fields(to_fields(teal()), teal()) == teal()


def test_history_follows_a_concept_that_is_congruent(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        write_rows(db, teal(), at=AT)
        forms, pairs = set(db.scalars(select(FormRow.id))), set(db.scalars(select(PairRow.id)))
        renamed = tuple(replace(form, taxon_concept_id=form.taxon_concept_id.replace("split", "new")) for form in teal().forms)
        same = tuple(FolderMapping(form.taxon_concept_id, "isCongruentWith", f"split/{form.taxon_concept_id[4:]}") for form in renamed)
        edition = replace(teal(), key="edition", list_name="Splitting list 2032", forms=renamed, mappings=same)
        written = write_rows(db, edition, at=AT)
        assert set(db.scalars(select(FormRow.id))) == forms
        assert set(db.scalars(select(PairRow.id))) == pairs
        assert stored_catalogue(db, written.catalogue_id) == edition


def of_another_list(**wears: str) -> FolderCatalogue:
    """Return a catalogue that knows one of the two under a concept of its own, made before anybody said that they are congruent."""
    upright = replace(teal().forms[1], taxon_concept_id="other/erecta", also_named=(), **wears)  # type: ignore[arg-type]  # words by name
    return replace(teal(), key="other", list_name="Other list", forms=(upright,), pairs=(), mappings=())


SAME = (FolderMapping("split/erecta", "isCongruentWith", "other/erecta"),)


def test_forms_that_were_there_before_a_mapping_come_to_hang_on_one_concept(store: Store) -> None:
    with store.work() as db:
        young = write_rows(db, of_another_list(life_stage="juvenile"), at=AT).form_ids["upright"]
        first = write_rows(db, teal(), at=AT).form_ids["upright"]
        same = replace(teal(), mappings=SAME)
        assert find_forms(db, of_another_list()) == {}
        assert write_rows(db, same, at=AT).form_ids["upright"] == first
        assert len(set(db.scalars(select(FormRow.concept_id).where(FormRow.id.in_((young, first)))))) == 1
        # The same bird under either concept is one form now, in the preview as in what is written.
        assert find_forms(db, of_another_list()) == write_rows(db, of_another_list(), at=AT).form_ids == {"upright": first}
        assert find_forms(db, of_another_list(life_stage="juvenile")) == {"upright": young}
        # Told again, nothing moves; and each catalogue still says its own concept.
        assert write_rows(db, same, at=AT).form_ids["upright"] == first
        assert stored_catalogue(db, write_rows(db, of_another_list(), at=AT).catalogue_id) == of_another_list()


def test_an_import_makes_nothing_one_that_somebody_elses_catalogue_teaches(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        theirs = write_rows(db, of_another_list(life_stage="juvenile"), at=AT).catalogue_id
        hers = write_rows(db, teal(), at=AT).catalogue_id
        names = {"writer": False, "other": False, "keeper": True}
        people = [AccountRow(name=one, name_folded=one, passphrase_hash="", is_keeper=keeps, created_at=AT) for one, keeps in names.items()]
        db.add_all(people)
        db.flush()
        writer, other, keeper = (row.id for row in people)
        db.add_all((StewardRow(catalogue_id=hers, account_id=writer), StewardRow(catalogue_id=theirs, account_id=other)))
    same = replace(teal(), mappings=SAME)
    with sqlite_store.work() as db:
        refused = learnt_apart(db, same, by_id=writer)
        assert "split/erecta, other/erecta: A catalogue that is not yours teaches one of the two" in refused[0].line
        assert learnt_apart(db, same, by_id=keeper) == ()
        db.add(StewardRow(catalogue_id=theirs, account_id=writer))
        db.flush()
        assert learnt_apart(db, same, by_id=writer) == ()


def test_forms_that_were_learnt_apart_are_not_joined(store: Store) -> None:
    with store.work() as db:
        write_rows(db, teal(), at=AT)
        write_rows(db, of_another_list(), at=AT)
    same = replace(teal(), mappings=SAME)
    with store.look() as db:
        told = learnt_apart(db, same, by_id=0)
        assert learnt_apart(db, teal(), by_id=0) == ()
    assert "learnt split/erecta and other/erecta apart" in told[0].line
    with pytest.raises(BadImport, match="take this mapping out"), store.work() as db:
        write_rows(db, same, at=AT)
    with store.look() as db:
        assert len(set(db.scalars(select(FormRow.concept_id)))) == 3
        assert not db.scalars(select(ConceptRow.id).where(ConceptRow.same_as.is_not(None))).all()


def test_history_follows_no_other_relation(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        write_rows(db, teal(), at=AT)
        lumped = replace(teal().forms[0], taxon_concept_id="lump/crecca")
        write_rows(db, replace(teal(), key="lump", forms=(lumped,), pairs=()), at=AT)
        assert len(set(db.scalars(select(FormRow.id)))) == 3


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"mappings": (FolderMapping("a", "overlaps", "b"),)}, "mappingRelation says overlaps"),
        ({"mappings": (FolderMapping("a", "includes", "a"),)}, "onto itself"),
        ({"mappings": (FolderMapping("a", "includes", "b"), FolderMapping("b", "isIncludedIn", "a"))}, "mapped twice"),
        ({"mappings": (FolderMapping("split/crecca", "includes", "split/erecta"),)}, "upright are mapped as includes"),
        ({"mappings": (FolderMapping("split/crecca", "isCongruentWith", "split/erecta"),)}, "wears the same"),
        ({"forms": (replace(teal().forms[0], commonness="now and then"), teal().forms[1])}, "commonness says now and then"),
        ({"list_name": LUMPING}, "this catalogue's own list"),
        ({"forms": (replace(teal().forms[0], also_named=teal().forms[0].also_named * 2), teal().forms[1])}, "names it twice"),
        ({"language": "de"}, "de is this catalogue's own language"),
        ({"forms": (replace(teal().forms[0], called=(FolderCalled("d e", "Ente"),)), teal().forms[1])}, "d e is no language tag"),
        ({"forms": (replace(teal().forms[0], called=(FolderCalled("de", " "),)), teal().forms[1])}, "vernacularNames, de, is no name"),
    ],
)
def test_what_cannot_be_is_told(changed: dict[str, object], told: str, tmp_path: Path) -> None:
    assert told in faults(replace(teal(), **changed), tmp_path)  # type: ignore[arg-type]  # fields by name

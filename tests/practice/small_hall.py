"""A hall of four invented waders in three pairs, without any bytes of pictures: for tests of what is planned and counted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import count

from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import (
    CatalogueFormRow,
    CataloguePairRow,
    CataloguePictureRow,
    CatalogueRow,
    FormTraitRow,
    PairSetRow,
    StagePairRow,
    StageRow,
    StateRow,
    TakenSetRow,
    ThirdRow,
    TraitRow,
)
from drillhall.store.models.concepts import ConceptRow, FormRow, NameRow, PairRow, VernacularRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import FileRow, MarkRow, PictureRow, RightsRow

NOON = datetime(2031, 3, 3, 12, tzinfo=UTC)
NAMES = ("Lesser mudpiper", "Greater mudpiper", "Shore mudpiper", "Reed mudpiper")
SETTINGS = ("mud", "water", "sand")


@dataclass(frozen=True)
class SmallHall:
    """Ids of what the hall holds: the learner, a stranger, forms, pairs in their stages, the set."""

    learner: int
    stranger: int
    forms: tuple[int, ...]
    pairs: tuple[int, ...]
    pair_set: int
    catalogue: int


def make_small_hall(db: Session, *, zone: str = "UTC", pictures: int = 12, portraits: int = 2, taken: bool = True) -> SmallHall:
    """Fill an empty store and return what is in it."""
    learner, stranger = (_account(db, name, zone) for name in ("Ottilie", "Bram"))
    forms = tuple(_form(db, name) for name in NAMES)
    catalogue = CatalogueRow(key="mudpipers", title="Mudpipers", subject="bird", list_name="Example List", made_at=NOON, changed_at=NOON)
    db.add(catalogue)
    db.flush()
    entries = [_entry(db, catalogue.id, form, place) for place, form in enumerate(forms)]
    bill = _trait(db, catalogue.id, "bill", "Bill", "structure", ("straight", "curved"))
    legs = _trait(db, catalogue.id, "legs", "Leg colour", "colour", ("dark", "pale"))
    for place, entry in enumerate(entries):
        _says(db, entry, bill[1][place % 2], "always")
        _says(db, entry, legs[1][0 if place < 3 else 1], "usually")
    pairs = tuple(_pair(db, catalogue.id, forms[a], forms[b], place) for place, (a, b) in enumerate(((0, 1), (1, 2), (0, 3))))
    db.add(ThirdRow(catalogue_pair_id=pairs[0][1], catalogue_form_id=entries[2], trait_id=legs[0]))
    pair_set = _set(db, catalogue.id, [entry for _, entry in pairs])
    if taken:
        db.add(TakenSetRow(account_id=learner, pair_set_id=pair_set, taken_at=NOON - timedelta(days=60)))
    numbers = count(1)
    for form in forms:
        for use, how_many in (("practice", pictures), ("portrait", portraits), ("held-out", 2)):
            for _ in range(how_many):
                _picture(db, catalogue.id, form, use, next(numbers), {"bill": bill[0], "legs": legs[0]})
    db.flush()
    return SmallHall(learner, stranger, forms, tuple(pair for pair, _ in pairs), pair_set, catalogue.id)


def _account(db: Session, name: str, zone: str) -> int:
    row = AccountRow(name=name, name_folded=name.lower(), passphrase_hash="none", zone=zone, created_at=NOON)
    db.add(row)
    db.flush()
    return row.id


def _form(db: Session, name: str) -> int:
    concept = ConceptRow(taxon_concept_id=f"example:{name}")
    db.add(concept)
    db.flush()
    latin = "Fictavis " + name.split()[0].lower()
    db.add(NameRow(concept_id=concept.id, according_to="Example List", scientific_name=latin))
    db.add(VernacularRow(concept_id=concept.id, language="en", name=name))
    form = FormRow(concept_id=concept.id, life_stage="adult", plumage="non-breeding")
    db.add(form)
    db.flush()
    return form.id


def _entry(db: Session, catalogue_id: int, form_id: int, place: int) -> int:
    row = CatalogueFormRow(catalogue_id=catalogue_id, form_id=form_id, key=f"form-{place}", place=place)
    db.add(row)
    db.flush()
    return row.id


def _trait(db: Session, catalogue_id: int, key: str, label: str, kind: str, states: tuple[str, ...]) -> tuple[int, list[int]]:
    trait = TraitRow(catalogue_id=catalogue_id, key=key, label=label, part=key, kind=kind, ask=f"Look at this: {label}.")
    db.add(trait)
    db.flush()
    rows = [StateRow(trait_id=trait.id, key=state, label=state, place=place) for place, state in enumerate(states)]
    db.add_all(rows)
    db.flush()
    return trait.id, [row.id for row in rows]


def _says(db: Session, entry: int, state: int, word: str) -> None:
    db.add(FormTraitRow(catalogue_form_id=entry, state_id=state, word=word))


def _pair(db: Session, catalogue_id: int, first: int, second: int, place: int) -> tuple[int, int]:
    pair = PairRow(first_form_id=min(first, second), second_form_id=max(first, second))
    db.add(pair)
    db.flush()
    row = CataloguePairRow(catalogue_id=catalogue_id, pair_id=pair.id, key=f"pair-{place}", place=place, note="Often in one flock.")
    db.add(row)
    db.flush()
    return pair.id, row.id


def _set(db: Session, catalogue_id: int, entries: list[int]) -> int:
    row = PairSetRow(catalogue_id=catalogue_id, key="first", title="First mudpipers")
    db.add(row)
    db.flush()
    for place, group in enumerate((entries[:2], entries[2:])):
        stage = StageRow(pair_set_id=row.id, place=place, title=f"Stage {place + 1}")
        db.add(stage)
        db.flush()
        db.add_all(StagePairRow(stage_id=stage.id, catalogue_pair_id=entry, place=number) for number, entry in enumerate(group))
    return row.id


def _picture(db: Session, catalogue_id: int, form_id: int, use: str, number: int, traits: dict[str, int]) -> int:
    row = PictureRow(
        public_id=f"00000000-0000-7000-8000-{number:012d}",
        form_id=form_id,
        use=use,
        medium="Drawing",
        orientation="lateral",
        setting=SETTINGS[number % 3],
        alt="One bird on mud, seen from the side.",
        width_px=960,
        height_px=640,
        content_sha256=f"{number:064x}",
        fingerprint=number,
        made_at=NOON,
    )
    db.add(row)
    db.flush()
    db.add(RightsRow(picture_id=row.id, creator="A. Stand-in", licence="CC0-1.0", credit="A. Stand-in", may_group=True, may_alter=True))
    db.add(CataloguePictureRow(catalogue_id=catalogue_id, picture_id=row.id, file=f"{number}.jpg", place=number))
    db.add(
        FileRow(
            picture_id=row.id,
            size_name="large",
            recipe=f"{number:032x}",
            storage_key=f"{number}",
            media_type="image/webp",
            width_px=960,
            height_px=640,
            bytes=1,
        )
    )
    db.add_all(MarkRow(picture_id=row.id, trait_id=trait, x=0.1, y=0.2, width=0.2, height=0.1) for trait in traits.values())
    return row.id

"""The catalogue of a grown hall: invented waders in a ring of pairs, with pictures enough to be drilled, without a byte of them."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, Final

from sqlalchemy import insert
from sqlalchemy.orm import Session

from drillhall.store.base import Row
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
    TraitRow,
)
from drillhall.store.models.concepts import ConceptRow, FormRow, NameRow, PairRow, VernacularRow
from drillhall.store.models.pictures import FileRow, MarkRow, PictureRow, RightsRow

MADE_AT: Final = datetime(2030, 1, 7, 12, tzinfo=UTC)
USES: Final = ("practice",) * 6 + ("portrait",) + ("held-out",)
SETTINGS: Final = ("mud", "water", "sand")
A_STAGE: Final = 20

Rows = dict[type[Row], list[dict[str, Any]]]


def write_catalogue(db: Session, *, pairs: int) -> None:
    """Write one catalogue and one pair set of all its pairs; forms 1 to pairs + 1, pair n has the forms n and n + 1."""
    rows: Rows = {}
    _put(rows, CatalogueRow, id=1, key="large", title="Large", subject="bird", list_name="List", made_at=MADE_AT, changed_at=MADE_AT)
    for number, key in enumerate(("bill", "legs"), 1):
        _put(
            rows, TraitRow, id=number, catalogue_id=1, key=key, label=key.title(), part="bill", kind="structure", ask=f"Look at the {key}."
        )
        for place, state in enumerate(("short", "long")):
            _put(rows, StateRow, id=2 * number - 1 + place, trait_id=number, key=state, label=state, place=place)
    for form in range(1, pairs + 2):
        _form(rows, form)
    _put(rows, PairSetRow, id=1, catalogue_id=1, key="all", title="All")
    for pair in range(1, pairs + 1):
        stage = 1 + (pair - 1) // A_STAGE
        if pair % A_STAGE == 1:
            _put(rows, StageRow, id=stage, pair_set_id=1, place=stage, title=f"Stage {stage}")
        _put(rows, PairRow, id=pair, first_form_id=pair, second_form_id=pair + 1)
        _put(rows, CataloguePairRow, id=pair, catalogue_id=1, pair_id=pair, key=f"form-{pair}:form-{pair + 1}", place=pair)
        _put(rows, StagePairRow, stage_id=stage, catalogue_pair_id=pair, place=pair)
    for table, written in sorted(rows.items(), key=lambda item: Row.metadata.sorted_tables.index(item[0].__table__)):  # type: ignore[arg-type]
        db.execute(insert(table), written)


def pictures_of(form: int) -> range:
    """Return the practice pictures of a form, by number."""
    first = 1 + (form - 1) * len(USES)
    return range(first, first + USES.count("practice"))


def _form(rows: Rows, form: int) -> None:
    _put(rows, ConceptRow, id=form, taxon_concept_id=f"example:{form}")
    _put(rows, NameRow, id=form, concept_id=form, according_to="List", scientific_name=f"Fictavis n{form}")
    _put(rows, VernacularRow, id=form, concept_id=form, language="en", name=f"Wader {form}")
    _put(rows, FormRow, id=form, concept_id=form)
    _put(rows, CatalogueFormRow, id=form, catalogue_id=1, form_id=form, name_id=form, vernacular_id=form, key=f"form-{form}", place=form)
    for trait in (1, 2):
        _put(rows, FormTraitRow, catalogue_form_id=form, state_id=2 * trait - 1 + form % 2, word="always")
    for place, use in enumerate(USES):
        _picture(rows, form, pictures_of(form).start + place, use)


def _picture(rows: Rows, form: int, number: int, use: str) -> None:
    named = {"public_id": f"00000000-0000-7000-8000-{number:012d}", "content_sha256": f"{number:064x}", "fingerprint": number}
    seen = {"orientation": ("left", "right")[number % 2], "setting": SETTINGS[number % 3], "alt": "One bird, from the side."}
    size = {"width_px": 960, "height_px": 640}
    _put(
        rows, PictureRow, id=number, form_id=form, use=use, medium="Drawing", made_at=MADE_AT, described_at=MADE_AT, **named, **seen, **size
    )
    _put(rows, RightsRow, picture_id=number, creator="A. Stand-in", licence="CC0-1.0", credit="A. Stand-in", may_group=True, may_alter=True)
    _put(rows, CataloguePictureRow, catalogue_id=1, picture_id=number, file=f"{number}.jpg", place=number)
    kept = {"recipe": f"{number:032x}", "storage_key": str(number), "media_type": "image/webp", "bytes": 1}
    _put(rows, FileRow, picture_id=number, size_name="large", **kept, **size)
    for trait in (1, 2):
        _put(rows, MarkRow, picture_id=number, trait_id=trait, x=0.1, y=0.2, width=0.2, height=0.1)


def _put(rows: Rows, table: type[Row], **values: Any) -> None:
    rows.setdefault(table, []).append(values)

"""Pictures drawn by the tests in every way of keeping pixels, and the rows that a picture needs around it."""

from __future__ import annotations

from datetime import UTC, datetime
from io import BytesIO
from typing import Any

import numpy as np
from PIL import Image
from sqlalchemy.orm import Session

from drillhall.core.licences import LICENCES
from drillhall.core.rights import Rights
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow, CatalogueRow, StewardRow
from drillhall.store.models.concepts import ConceptRow, FormRow, NameRow, VernacularRow
from drillhall.store.models.people import AccountRow

NOW = datetime(2031, 5, 4, 7, 30, tzinfo=UTC)
PUBLIC_ID = "3f0c2b5e-6a1d-4c53-9d5e-2f7a8b9c0d1e"
OPEN = Rights("Ada Mudd", LICENCES["CC-BY-4.0"], "Ada Mudd / Flats Club")
PRIVATE = Rights()


def scene(width: int = 800, height: int = 600) -> Image.Image:
    """A ground that darkens downwards, a red square top left and a blue one bottom right: any turn of it shows."""
    rows = np.linspace(200, 60, height)[:, None, None]
    pixels = np.broadcast_to(rows, (height, width, 3)).astype(np.uint8).copy()
    pixels[: height // 4, : width // 4] = (200, 30, 30)
    pixels[-height // 4 :, -width // 4 :] = (30, 30, 200)
    return Image.fromarray(pixels)


def noise(width: int, height: int) -> Image.Image:
    return Image.fromarray(np.random.default_rng(7).integers(0, 256, (height, width, 3), dtype=np.uint8))


def saved(image: Image.Image, kind: str = "JPEG", **how: Any) -> bytes:
    out = BytesIO()
    image.save(out, format=kind, **how)
    return out.getvalue()


def opened(content: bytes) -> Image.Image:
    image = Image.open(BytesIO(content))
    image.load()
    return image


def is_near(pixel: Any, wanted: tuple[int, ...], within: int = 14) -> bool:
    return all(abs(one - other) <= within for one, other in zip(pixel, wanted, strict=True))


def has_corners(image: Image.Image) -> bool:
    """Whether the scene stands upright: red top left, blue bottom right, the ground lighter above than below."""
    width, height = image.size
    at = image.convert("RGB").getpixel
    return (
        is_near(at((width // 8, height // 8)), (200, 30, 30), 25)
        and is_near(at((width * 7 // 8, height * 7 // 8)), (30, 30, 200), 25)
        and at((width * 7 // 8, height // 8))[0] > at((width // 8, height * 7 // 8))[0] + 60
    )


def add_account(db: Session, name: str) -> int:
    row = AccountRow(name=name, name_folded=name.casefold(), passphrase_hash="-", created_at=NOW)
    db.add(row)
    db.flush()
    return row.id


def add_form(db: Session, name: str = "Mudpiper", **words: str) -> int:
    concept = ConceptRow(taxon_concept_id=f"example:{name}:{words}")
    db.add(concept)
    db.flush()
    db.add(NameRow(concept_id=concept.id, according_to="Example List", scientific_name="Fictavis limosa"))
    db.add(VernacularRow(concept_id=concept.id, language="en", name=name))
    form = FormRow(concept_id=concept.id, **words)
    db.add(form)
    db.flush()
    return form.id


def add_catalogue(db: Session, *, key: str = "example", steward_id: int | None = None, form_ids: tuple[int, ...] = ()) -> int:
    row = CatalogueRow(key=key, title=f"The {key} catalogue", subject="bird", list_name="Example List", made_at=NOW, changed_at=NOW)
    db.add(row)
    db.flush()
    if steward_id is not None:
        db.add(StewardRow(catalogue_id=row.id, account_id=steward_id))
    db.add_all(CatalogueFormRow(catalogue_id=row.id, form_id=form_id, key=f"form_{form_id}") for form_id in form_ids)
    db.flush()
    return row.id


def accept(db: Session, catalogue_id: int, picture_id: int) -> None:
    db.add(CataloguePictureRow(catalogue_id=catalogue_id, picture_id=picture_id, file=f"{picture_id}.jpg"))
    db.flush()

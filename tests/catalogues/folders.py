"""Writes small catalogue folders for tests: a sound one, and the same with something changed."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Mapping, Sequence
from contextlib import closing
from pathlib import Path

from drillhall.catalogues.checking import CheckReport, check
from drillhall.catalogues.folder import FolderCatalogue
from drillhall.catalogues.reading import read_folder

CATALOGUE = """
[catalogue]
key = "mudflat"
title = "The mudflat"
subject = "bird"
list = "Invented List 2031"

[[traits]]
key = "bill"
label = "Bill"
part = "bill"
kind = "structure"
states = [ { key = "straight", label = "straight" }, { key = "bent", label = "bent" } ]

[[traits]]
key = "legs"
label = "Legs"
part = "legs"
kind = "colour"
states = [ { key = "dark", label = "dark", colour = "#2b2722" }, { key = "pale", label = "pale" } ]

[[forms]]
key = "lesser"
vernacularName = "Lesser Oozer"
scientificName = "Fictavis limosa"
lifeStage = "adult"
[forms.traits]
bill = { straight = "always" }
legs = { dark = "usually" }

[[forms]]
key = "greater"
vernacularName = "Greater Oozer"
scientificName = "Fictavis grandis"
lifeStage = "adult"
[forms.traits]
bill = { bent = { shown = 19, of = 20 } }
legs = { dark = "usually" }

[[forms]]
key = "third"
vernacularName = "Pale Oozer"
scientificName = "Fictavis pallida"
[forms.traits]
bill = { bent = "always" }

[[pairs]]
forms = ["lesser", "greater"]
thirds = [ { form = "third", trait = "bill" } ]
"""
SETS = """
[[sets]]
key = "oozers"
title = "Oozers"
[[sets.stages]]
title = "All"
pairs = [ ["greater", "lesser"] ]
"""
ROW = {
    "file": "a.jpg",
    "form": "lesser",
    "use": "practice",
    "dc:creator": "Ada Mudd",
    "dcterms:rights": "CC0-1.0",
    "photoshop:Credit": "Ada Mudd",
}


def write(
    folder: Path,
    *,
    catalogue: str | bytes = CATALOGUE,
    sets: str | bytes | None = SETS,
    rows: Sequence[Mapping[str, str]] = (ROW,),
    csv_text: str | bytes | None = None,
    files: Mapping[str, bytes] | None = None,
) -> Path:
    """Write a folder; each picture's file holds its own name as bytes unless `files` says otherwise."""
    (folder / "pictures").mkdir(parents=True, exist_ok=True)
    texts = {"catalogue.toml": catalogue, "pair-sets.toml": sets, "pictures.csv": table(rows) if csv_text is None else csv_text}
    for name, text in texts.items():
        if text is not None:
            (folder / name).write_bytes(text.encode() if isinstance(text, str) else text)
    if files is None:
        files = {row["file"]: row["file"].encode() for row in rows if "file" in row and ".." not in row["file"]}
    for name, content in files.items():
        (folder / "pictures" / name).write_bytes(content)
    return folder


def table(rows: Sequence[Mapping[str, str]]) -> str:
    """Return rows as CSV under the headers of all of them."""
    headers = list(dict.fromkeys(header for row in rows for header in row)) or list(ROW)
    out = io.StringIO()
    writer = csv.DictWriter(out, headers, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def pack(folder: Path, target: Path, *, top: str = "") -> Path:
    """Zip a folder, under a top folder or none."""
    with zipfile.ZipFile(target, "w") as file:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                file.write(path, top + path.relative_to(folder).as_posix())
    return target


def read(path: Path) -> FolderCatalogue:
    """Return what a folder says, which must be readable without a fault."""
    with closing(read_folder(path)) as folder:
        assert folder.faults == ()
        return folder.catalogue


def report(path: Path) -> CheckReport:
    """Return the report on a folder."""
    with closing(read_folder(path)) as folder:
        return check(folder)

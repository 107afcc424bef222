"""The demo set cut down to a few drawings a form, so that a test takes it in quickly."""

from __future__ import annotations

import csv
import shutil
from collections import Counter
from pathlib import Path

from drillhall.config import asset_folder
from drillhall.demo.drawing_set import SET

KEPT = {"practice": 2, "portrait": 1, "held-out": 0}


def write_few_cards(folder: Path) -> Path:
    """Write the set with a few drawings of every form into a folder of sets, and return that folder."""
    whole, few = asset_folder("demo_cards") / SET, folder / SET
    (few / "pictures").mkdir(parents=True)
    for name in ("catalogue.toml", "pair-sets.toml"):
        shutil.copy(whole / name, few / name)
    with (whole / "pictures.csv").open(encoding="utf-8", newline="") as file:
        table = csv.DictReader(file)
        names, rows = table.fieldnames or [], list(table)
    counts: Counter[tuple[str, str]] = Counter()
    with (few / "pictures.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, names)
        out.writeheader()
        for row in rows:
            counts[row["form"], row["use"]] += 1
            if counts[row["form"], row["use"]] <= KEPT[row["use"]]:
                out.writerow(row)
                shutil.copy(whole / "pictures" / row["file"], few / "pictures")
    return folder

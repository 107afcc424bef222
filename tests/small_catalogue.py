"""Writes a small catalogue folder of invented birds, which differ in bill, legs and cap, and are drawn as a few ellipses."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

from PIL import Image, ImageDraw, ImageFilter

SIZE = (480, 360)
USES = ("practice",) * 6 + ("portrait",) * 3 + ("held-out",)
TOML = """
[catalogue]
key = "small-estuary"
title = "The small estuary"
language = "en"
subject = "bird"
list = "Invented List of the Small Estuary"

[[forms]]
key = "sluice_fiddler"
vernacularName = "Sluice Fiddler"
scientificName = "Limicola sclusae"
taxonRank = "species"
lifeStage = "adult"
[forms.traits]
bill = { straight = "always" }
legs = { dark = "usually" }
cap = { plain = "usually" }

[[forms]]
key = "marsh_fiddler"
vernacularName = "Marsh Fiddler"
scientificName = "Limicola paludis"
taxonRank = "species"
lifeStage = "adult"
[forms.traits]
bill = { bent = "always" }
legs = { dark = "usually" }
cap = { plain = "usually" }

[[forms]]
key = "marsh_fiddler_juvenile"
vernacularName = "Marsh Fiddler"
scientificName = "Limicola paludis"
taxonRank = "species"
lifeStage = "juvenile"
[forms.traits]
bill = { bent = "always" }
legs = { pale = "always" }
cap = { streaked = "usually" }

[[forms]]
key = "stilt_fiddler"
vernacularName = "Stilt Fiddler"
scientificName = "Limicola grallae"
taxonRank = "species"
lifeStage = "juvenile"
[forms.traits]
bill = { straight = "always" }
legs = { pale = "always" }
cap = { streaked = "usually" }

[[traits]]
key = "bill"
label = "Bill"
ask = "Look at the bill. Which shape is it?"
part = "bill"
kind = "structure"
states = [ { key = "straight", label = "straight" }, { key = "bent", label = "bent down at the tip" } ]

[[traits]]
key = "legs"
label = "Legs"
ask = "Look at the legs. What colour are they?"
part = "legs"
kind = "colour"
states = [ { key = "dark", label = "dark", colour = "#2b2722" }, { key = "pale", label = "pale", colour = "#c9b46a" } ]

[[traits]]
key = "cap"
label = "Cap"
ask = "Look at the top of the head. Which pattern has it?"
part = "crown"
kind = "pattern"
states = [ { key = "plain", label = "plain" }, { key = "streaked", label = "streaked" } ]

[[pairs]]
forms = ["sluice_fiddler", "marsh_fiddler"]
note = "The bill decides; the legs are alike."
thirds = [ { form = "marsh_fiddler_juvenile", trait = "bill" } ]

[[pairs]]
forms = ["sluice_fiddler", "stilt_fiddler"]

[[pairs]]
forms = ["marsh_fiddler_juvenile", "stilt_fiddler"]
"""
SETS = """
[[sets]]
key = "fiddlers"
title = "The fiddlers"
note = "Three pairs to begin with."

[[sets.stages]]
title = "Grown birds"
pairs = [ ["sluice_fiddler", "marsh_fiddler"] ]

[[sets.stages]]
title = "With young ones"
pairs = [ ["sluice_fiddler", "stilt_fiddler"], ["marsh_fiddler_juvenile", "stilt_fiddler"] ]
"""


@dataclass(frozen=True)
class Looks:
    """What is drawn of a form."""

    bent: bool
    pale: bool
    streaked: bool


FORMS = {
    "sluice_fiddler": Looks(bent=False, pale=False, streaked=False),
    "marsh_fiddler": Looks(bent=True, pale=False, streaked=False),
    "marsh_fiddler_juvenile": Looks(bent=True, pale=True, streaked=True),
    "stilt_fiddler": Looks(bent=False, pale=True, streaked=True),
}


def write_small_catalogue(folder: Path) -> Path:
    """Write the folder, the same each time, and return it: 4 forms, 3 pairs, 40 pictures."""
    (folder / "pictures").mkdir(parents=True)
    (folder / "catalogue.toml").write_text(TOML.lstrip(), encoding="utf-8")
    (folder / "pair-sets.toml").write_text(SETS.lstrip(), encoding="utf-8")
    rows = list(_draw_all(folder))
    with (folder / "pictures.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, fieldnames=list(rows[0]))
        table.writeheader()
        table.writerows(rows)
    return folder


def _draw_all(folder: Path) -> Iterator[dict[str, str]]:
    dice = Random(20)
    for form, looks in FORMS.items():
        for number, use in enumerate(USES, 1):
            file = f"pictures/{form}_{number:02}.jpg"
            picture, marks = draw(looks, dice)
            picture.save(folder / file, quality=88)
            yield {
                "file": file,
                "form": form,
                "use": use,
                "dc:creator": "The tests of this project",
                "dcterms:rights": "https://creativecommons.org/publicdomain/zero/1.0/",
                "photoshop:Credit": "Drawn by the tests",
                "ac:subtypeLiteral": "Drawing",
                "ac:subjectOrientationLiteral": "right",
                "typical": "yes",
                "alt": "One bird standing on mud, seen from the side",
                "marks": "; ".join(f"{trait} {' '.join(f'{side:.4f}' for side in box)}" for trait, box in marks.items()),
            }


Box = tuple[float, float, float, float]


def draw(looks: Looks, dice: Random) -> tuple[Image.Image, dict[str, Box]]:
    picture = _mud(dice)
    pen = ImageDraw.Draw(picture)
    x, y, size = dice.randint(150, 230), dice.randint(140, 190), dice.randint(70, 100)
    grey = dice.randint(95, 150)
    coat, dark = (grey, grey - 8, grey - 20), (40, 36, 32)
    leg = (201, 180, 106) if looks.pale else dark
    for foot in (x - size // 5, x + size // 5):
        pen.line([(foot, y + size // 3), (foot + size // 12, y + size)], fill=leg, width=6)
    pen.ellipse([x - size, y - size // 2, x + size, y + size // 2], fill=coat)
    head_x, head_y, half = x + size, y - size // 2, size // 3
    pen.ellipse([head_x - half, head_y - half, head_x + half, head_y + half], fill=coat)
    if looks.streaked:
        for step in range(-2, 3):
            pen.line([(head_x + step * 5, head_y - half), (head_x + step * 7, head_y - half // 3)], fill=dark, width=2)
    tip = (head_x + half + size // 2, head_y + (size // 5 if looks.bent else 0))
    pen.line([(head_x + half, head_y), (head_x + half + size // 4, head_y), tip], fill=dark, width=6, joint="curve")
    pen.ellipse([head_x + 4, head_y - 8, head_x + 12, head_y], fill=dark)
    marks = {
        "bill": _box(head_x + half - 4, head_y - 8, size // 2 + 10, size // 5 + 16),
        "legs": _box(x - size // 5 - 8, y + size // 3, size // 2, size * 2 // 3),
        "cap": _box(head_x - half, head_y - half - 2, 2 * half, half),
    }
    return picture, marks


def _box(left: float, top: float, width: float, height: float) -> Box:
    return left / SIZE[0], top / SIZE[1], width / SIZE[0], height / SIZE[1]


def _mud(dice: Random) -> Image.Image:
    """Paint a ground of its own for each picture, so that no two are nearly the same."""
    patches = Image.new("RGB", (8, 6))
    patches.putdata(
        [(tone, tone - dice.randint(4, 18), tone - dice.randint(20, 40)) for tone in (dice.randint(120, 220) for _ in range(48))]
    )
    return patches.resize(SIZE, Image.Resampling.BICUBIC).filter(ImageFilter.GaussianBlur(4))

"""Writes scanned digits as a catalogue's folder: real look-alikes, with pictures by many hands, that a registry package ships.

Source of the pictures: `sklearn.datasets.load_digits`, by its own description "a copy of the test set of the UCI ML hand-written
digits datasets" (Optical Recognition of Handwritten Digits; E. Alpaydin and C. Kaynak, 1998): 1,797 pictures of 8 × 8 pixels with
17 greys. Their licence, CC BY 4.0, is that of the UCI repository, from memory. What is said of the traits is ours, from looking.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image
from sklearn.datasets import load_digits

SIDE_PX = 240
PRACTICE, PORTRAITS, HELD_OUT = 30, 3, 8
NAMES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
RIGHTS = "https://creativecommons.org/licenses/by/4.0/"
WHERE = {
    "rings": "0.1000 0.0300 0.8000 0.9400",
    "upper_half": "0.1000 0.0300 0.8000 0.4900",
    "lower_half": "0.1000 0.4800 0.8000 0.4900",
    "middle": "0.1000 0.3000 0.8000 0.4000",
}

TRAITS: dict[str, dict[str, Any]] = {
    "rings": {
        "label": "Rings",
        "ask": "Follow the line. How many closed rings does it make?",
        "part": "whole",
        "states": {"none": "no ring", "one": "one ring", "two": "two rings"},
    },
    "upper_half": {
        "label": "Upper half",
        "ask": "Look at the upper half. What does the line make there?",
        "part": "upper half",
        "states": {
            "ring": "a closed ring",
            "open_left": "a bow or corner that opens to the left",
            "open_right": "a bow or corner that opens to the right",
            "open_above": "two strokes, open above",
            "arch": "an arch",
            "stroke": "a single stroke",
        },
    },
    "lower_half": {
        "label": "Lower half",
        "ask": "Look at the lower half. What does the line make there?",
        "part": "lower half",
        "states": {
            "ring": "a closed ring",
            "open_left": "a bow that opens to the left",
            "bowl": "a bowl",
            "foot": "a foot that lies flat",
            "stroke": "a single stroke",
        },
    },
    "middle": {
        "label": "Middle",
        "ask": "Look at the middle. Does a bar cross the stroke?",
        "part": "middle",
        "states": {"bar": "a bar across", "no_bar": "no bar"},
    },
}
SHAPES: dict[str, dict[str, dict[str, str]]] = {
    "zero": {"rings": {"one": "usually", "none": "rarely"}, "upper_half": {"arch": "always"}, "lower_half": {"bowl": "always"}},
    "one": {
        "rings": {"none": "always"},
        "upper_half": {"stroke": "usually", "open_left": "rarely"},
        "lower_half": {"stroke": "usually", "foot": "rarely"},
        "middle": {"no_bar": "usually"},
    },
    "two": {
        "rings": {"none": "usually", "one": "rarely"},
        "upper_half": {"open_left": "always"},
        "lower_half": {"foot": "always"},
        "middle": {"no_bar": "always"},
    },
    "three": {"rings": {"none": "always"}, "upper_half": {"open_left": "always"}, "lower_half": {"open_left": "always"}},
    "four": {
        "rings": {"none": "usually", "one": "rarely"},
        "upper_half": {"open_above": "usually", "ring": "rarely"},
        "lower_half": {"stroke": "always"},
        "middle": {"bar": "usually"},
    },
    "five": {"rings": {"none": "always"}, "upper_half": {"open_right": "always"}, "lower_half": {"open_left": "always"}},
    "six": {"rings": {"one": "always"}, "upper_half": {"open_right": "usually", "stroke": "rarely"}, "lower_half": {"ring": "always"}},
    "seven": {
        "rings": {"none": "always"},
        "upper_half": {"open_left": "always"},
        "lower_half": {"stroke": "always"},
        "middle": {"bar": "usually"},
    },
    "eight": {"rings": {"two": "usually", "one": "rarely"}, "upper_half": {"ring": "usually"}, "lower_half": {"ring": "usually"}},
    "nine": {
        "rings": {"one": "usually", "none": "rarely"},
        "upper_half": {"ring": "usually"},
        "lower_half": {"open_left": "usually", "stroke": "sometimes"},
    },
}
PAIRS: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {
    ("one", "seven"): (("four", "middle"),),
    ("three", "five"): (("nine", "lower_half"),),
    ("zero", "six"): (("nine", "rings"),),
    ("two", "seven"): (("three", "upper_half"),),
    ("five", "six"): (("eight", "lower_half"),),
    ("four", "nine"): (("seven", "lower_half"),),
    ("five", "nine"): (("three", "lower_half"),),
    ("three", "eight"): (("five", "lower_half"),),
    ("eight", "nine"): (("six", "rings"),),
}
STAGES = {
    "Far apart": (("zero", "six"), ("two", "seven"), ("three", "five")),
    "Near": (("one", "seven"), ("five", "six"), ("four", "nine")),
    "Nearest": (("three", "eight"), ("five", "nine"), ("eight", "nine")),
}


@dataclass(frozen=True)
class Scan:
    """One of the 1,797: its place in the set, which digit it is, and its 8 × 8 greys, 0 to 16."""

    number: int
    digit: int
    greys: np.ndarray


def write_digits_catalogue(folder: Path, *, practice: int = PRACTICE, portraits: int = PORTRAITS, held_out: int = HELD_OUT) -> Path:
    """Write the folder, the same each time, and return it: 10 forms, 9 pairs in 3 stages, split into uses by sample."""
    (folder / "pictures").mkdir(parents=True)
    (folder / "catalogue.toml").write_text("\n".join(_catalogue_lines()) + "\n", encoding="utf-8")
    (folder / "pair-sets.toml").write_text("\n".join(_set_lines()) + "\n", encoding="utf-8")
    uses = ("portrait",) * portraits + ("practice",) * practice + ("held-out",) * held_out
    with (folder / "pictures.csv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(
            (
                "file",
                "form",
                "use",
                "dc:creator",
                "dcterms:rights",
                "photoshop:Credit",
                "dc:source",
                "ac:subtypeLiteral",
                "typical",
                "alt",
                "marks",
            )
        )
        rows.writerows(_draw_all(folder / "pictures", uses))
    return folder


def _draw_all(folder: Path, uses: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    marks = "; ".join(f"{trait} {box}" for trait, box in WHERE.items())
    for digit, name in enumerate(NAMES):
        scans = scans_of(digit)
        middle = np.mean([scan.greys for scan in scans], axis=0)
        far = {scan.number: float(np.abs(scan.greys - middle).mean()) for scan in scans}
        usual = float(np.quantile(list(far.values()), 0.75))
        # Portraits stand for the form, so they are the three nearest to its mean; the others come in the order of the set.
        nearest = sorted(scans, key=lambda scan: (far[scan.number], scan.number))[: uses.count("portrait")]
        others = [scan for scan in scans if scan not in nearest][: len(uses) - len(nearest)]
        for use, scan in zip(uses, [*nearest, *others], strict=True):
            file = f"{name}_{scan.number:04}.png"
            draw(scan.greys).save(folder / file)
            typical = "yes" if far[scan.number] <= usual else "no"
            credit = "E. Alpaydin and C. Kaynak, Optical Recognition of Handwritten Digits"
            source = f"scikit-learn, load_digits, sample {scan.number}"
            yield file, name, use, "E. Alpaydin, C. Kaynak", RIGHTS, credit, source, "Scan", typical, "One sign, dark on pale paper", marks


def scans_of(digit: int) -> list[Scan]:
    """Return every scan of a digit, in the order of the set."""
    return [scan for scan in _all_scans() if scan.digit == digit]


@cache
def _all_scans() -> tuple[Scan, ...]:
    digits = load_digits()
    return tuple(Scan(number, int(digit), greys) for number, (digit, greys) in enumerate(zip(digits.target, digits.images, strict=True)))


def draw(greys: np.ndarray) -> Image.Image:
    """Return 8 × 8 greys drawn large and smooth, dark on pale, with a margin."""
    paper = np.zeros((10, 10))
    paper[1:9, 1:9] = greys
    ink = Image.fromarray((245 - paper / 16 * 215).astype(np.uint8))
    return ink.resize((SIDE_PX, SIDE_PX), Image.Resampling.BICUBIC)


def _catalogue_lines() -> Iterator[str]:
    yield '[catalogue]\nkey = "scanned-digits"\ntitle = "Scanned digits"\nlanguage = "en"\nsubject = "other"\nlist = "The ten digits"'
    for key, trait in TRAITS.items():
        states = ", ".join(f'{{ key = "{state}", label = "{label}" }}' for state, label in trait["states"].items())
        yield f'\n[[traits]]\nkey = "{key}"\nlabel = "{trait["label"]}"\nask = "{trait["ask"]}"\npart = "{trait["part"]}"'
        yield f'kind = "structure"\nstates = [ {states} ]'
    for digit, name in enumerate(NAMES):
        yield f'\n[[forms]]\nkey = "{name}"\nvernacularName = "{name.capitalize()}"\nscientificName = "Digit {digit}"\ntaxonRank = "form"'
        yield "[forms.traits]"
        for shape, said in SHAPES[name].items():
            yield f"{shape} = {{ {', '.join(f'{state} = {json.dumps(word)}' for state, word in said.items())} }}"
    for pair, thirds in PAIRS.items():
        named = ", ".join(f'{{ form = "{form}", trait = "{trait}" }}' for form, trait in thirds)
        yield f"\n[[pairs]]\nforms = {json.dumps(pair)}\nthirds = [ {named} ]"


def _set_lines() -> Iterator[str]:
    yield '[[sets]]\nkey = "digits"\ntitle = "Digits by hand"'
    for title, pairs in STAGES.items():
        yield f"\n[[sets.stages]]\ntitle = {json.dumps(title)}\npairs = {json.dumps(pairs)}"

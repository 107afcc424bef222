"""Writes the drawings as a catalogue folder: catalogue.toml, pair-sets.toml, pictures.csv and the pictures beside them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from PIL import Image

from drillhall.demo.book import Book, DrawnPair, DrawnTrait, MeasuredTrait, read_book
from drillhall.demo.choosing import Drawing, choose
from drillhall.demo.painter.forms import form as words_of
from drillhall.demo.painter.forms import list_keys

QUALITY: Final = 70
SET: Final = "estuary-waders"
CREATOR: Final = "Drillhall project"
CREDIT: Final = "made by the Drillhall project"
LICENCE: Final = "https://creativecommons.org/publicdomain/zero/1.0/"
NOTE: Final = (
    "Drawings, not photographs. What is said of the forms is from memory, read twice and not checked against a handbook; "
    "in these drawings a state is always shown, in the field it varies. The drawings have no scale: size does not help here."
)
STAGES: Final = {1: "Well marked", 2: "Harder", 3: "Hard: young birds and winter plumage"}
SETTINGS: Final = {"mud": "mud", "shingle": "shingle", "marsh": "saltmarsh", "water": "shallow water"}
GROUNDS: Final = {
    "mud": "on wet mud",
    "shingle": "on shingle",
    "marsh": "at the edge of a saltmarsh",
    "water": "in shallow water",
}
DOING: Final = {
    "alert": "standing upright",
    "standing": "standing",
    "walking": "walking",
    "pecking": "picking food from the surface",
    "probing": "probing with its head down",
    "resting": "resting on one leg",
    "stooping": "leaning forward",
}
LIGHTS: Final = {"overcast": "under a clouded sky", "warm": "in warm light", "cool": "in cool light", "backlit": "against the light"}
# The last column is ours alone: with it a drawing can be drawn again.
HEADER: Final = (
    "file",
    "form",
    "use",
    "dc:creator",
    "dcterms:rights",
    "photoshop:Credit",
    "ac:subtypeLiteral",
    "ac:subjectOrientationLiteral",
    "pose",
    "setting",
    "typical",
    "alt",
    "marks",
    "seed",
)


def write_set(folder: Path, *, progress: Callable[[str], None]) -> int:
    """Draw everything into an empty or new folder; return how many pictures were written."""
    book = read_book()
    (folder / "pictures").mkdir(parents=True, exist_ok=True)
    (folder / "catalogue.toml").write_text(catalogue_text(book), encoding="utf-8")
    (folder / "pair-sets.toml").write_text(sets_text(book), encoding="utf-8")
    rows = []
    for form in list_keys():
        progress(form)
        for number, drawing in enumerate(choose(book, form), 1):
            name = f"{form}-{number:02}.webp"
            (folder / "pictures" / name).write_bytes(encode(drawing.painting.image))
            rows.append(picture_row(name, drawing))
    with (folder / "pictures.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(HEADER)
        table.writerows(rows)
    return len(rows)


def encode(picture: Image.Image) -> bytes:
    """Return a drawing as the bytes of its file."""
    out = io.BytesIO()
    picture.save(out, "WEBP", quality=QUALITY, method=6)
    return out.getvalue()


def picture_row(name: str, drawing: Drawing) -> tuple[str, ...]:
    """Return a drawing's row of pictures.csv."""
    made = drawing.painting
    return (
        name,
        drawing.form,
        drawing.use,
        CREATOR,
        LICENCE,
        CREDIT,
        "Drawing",
        _side(drawing),
        "feeding" if made.scene.pose == "feeding" else made.pose,
        SETTINGS[made.scene.setting],
        "yes" if drawing.is_typical else "no",
        alternative(drawing),
        "; ".join(" ".join((trait, *(f"{share:.4f}" for share in region))) for trait, region in drawing.marks),
        str(drawing.seed),
    )


def _side(drawing: Drawing) -> str:
    """Return which side of the bird is seen: one that faces right shows its right side."""
    return "right" if drawing.painting.scene.facing > 0 else "left"


def alternative(drawing: Drawing) -> str:
    """Say how many birds there are, from where they are seen and on what; neither name nor any state of a trait."""
    made = drawing.painting
    behind = ", partly hidden" if made.seen["whole"] < 0.93 and made.scene.setting != "water" else ""
    distance = ", at a distance" if made.scene.soft > 0.8 else ""
    place = f"{DOING[made.pose]} {GROUNDS[made.scene.setting]}"
    return f"One bird seen from its {_side(drawing)} side, {place}{behind}{distance}, {LIGHTS[made.scene.light]}."


# ---- the two TOML files
def _quoted(text: str) -> str:
    """Return a TOML basic string; JSON's escapes are among those of TOML."""
    return json.dumps(text, ensure_ascii=False)


def _list(items: tuple[str, ...]) -> str:
    return "[" + ", ".join(_quoted(item) for item in items) + "]"


def catalogue_text(book: Book) -> str:
    """Return catalogue.toml."""
    lines = [
        "[catalogue]",
        f"key = {_quoted(SET)}",
        'title = "Estuary waders, drawn"',
        'language = "en"',
        'subject = "bird"',
        'list = "Common usage, from memory"',
        f"note = {_quoted(NOTE)}",
    ]
    for key in list_keys():
        lines += ["", *_form_lines(book, key)]
    for trait in book.traits:
        lines += ["", *_trait_lines(trait)]
    for measured in book.measured:
        lines += ["", *_measured_lines(measured)]
    for pair in book.pairs:
        lines += ["", *_pair_lines(pair)]
    return "\n".join(lines) + "\n"


def _form_lines(book: Book, key: str) -> Iterator[str]:
    words = words_of(key)
    yield "[[forms]]"
    yield f"key = {_quoted(key)}"
    yield f"vernacularName = {_quoted(words['vernacularName'])}"
    yield f"scientificName = {_quoted(words['scientificName'])}"
    yield 'taxonRank = "species"'
    for name in ("sex", "lifeStage", "plumage"):
        if words.get(name):
            yield f"{name} = {_quoted(words[name])}"
    yield f"length_mm = {words['length_mm']}"
    called = ", ".join(f"{language} = {_quoted(name)}" for language, name in words["vernacularNames"].items())
    yield f"vernacularNames = {{ {called} }}"
    yield "[forms.traits]"
    for trait, state in book.states[key].items():
        yield f'{trait} = {{ {state} = "always" }}'
    if any(key in one.forms for one in book.measured):
        yield "[forms.measures]"
    for one in book.measured:
        if key in one.forms:
            measure = one.forms[key]
            yield f"{one.key} = {{ mean = {measure.mean}, spread = {measure.spread}, n = {measure.n} }}"


def _trait_lines(trait: DrawnTrait) -> Iterator[str]:
    yield "[[traits]]"
    for name in ("key", "label", "ask", "part", "kind"):
        yield f"{name} = {_quoted(getattr(trait, name))}"
    yield "states = ["
    for state in trait.states:
        also = f", also_called = {_list(state.also_called)}" if state.also_called else ""
        colour = f", colour = {_quoted(state.colour)}" if state.colour else ""
        yield f"  {{ key = {_quoted(state.key)}, label = {_quoted(state.label)}{also}{colour} }},"
    yield "]"
    yield from ("[traits.said.de]", f"label = {_quoted(trait.german)}", f"ask = {_quoted(trait.ask_german)}", "[traits.said.de.states]")
    for state in trait.states:
        also = f", also_called = {_list(state.also_called_german)}"
        yield f"{state.key} = " + (f"{{ label = {_quoted(state.german)}{also} }}" if state.also_called_german else _quoted(state.german))


def _measured_lines(measured: MeasuredTrait) -> Iterator[str]:
    yield "[[traits]]"
    for name in ("key", "label", "part", "kind", "unit"):
        yield f"{name} = {_quoted(getattr(measured, name))}"
    yield from ("[traits.said.de]", f"label = {_quoted(measured.german)}")


def _pair_lines(pair: DrawnPair) -> Iterator[str]:
    yield "[[pairs]]"
    yield f"forms = {_list(pair.forms)}"
    yield f"note = {_quoted(pair.note)}"
    yield "neither = true"
    yield "third_share = 0.05"
    yield f"thirds = [{{ form = {_quoted(pair.third)}, trait = {_quoted(pair.trait)} }}]"
    yield from ("[pairs.said.de]", f"note = {_quoted(pair.german)}")


def sets_text(book: Book) -> str:
    """Return pair-sets.toml: all pairs in their stages."""
    note = "From birds that anybody can tell after an afternoon to those that are mixed up again a week later."
    lines = ["[[sets]]", 'key = "first-waders"', 'title = "Small waders, first to last"', f"note = {_quoted(note)}"]
    for stage, title in STAGES.items():
        lines += ["", "[[sets.stages]]", f"title = {_quoted(title)}", "pairs = ["]
        lines += [f"  {_list(pair.forms)}," for pair in book.pairs if pair.stage == stage]
        lines.append("]")
    return "\n".join(lines) + "\n"

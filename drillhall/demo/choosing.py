"""Chooses the drawings of a form: which seeds, for which use, and what each of them shows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from PIL import Image

from drillhall.demo.book import Book
from drillhall.demo.measuring import STANDING, shows_state
from drillhall.demo.painter.places import Region
from drillhall.demo.painter.scene import stage
from drillhall.demo.painter.studio import Painting, paint

COUNTS: Final = (("practice", 20), ("held-out", 8), ("portrait", 3))
"""How many drawings of a form there are for each use, in the order in which they are dealt."""

AGAIN: Final = 176
"""A drawing that will not do is drawn anew so many seeds on: the same setting, light, facing and pose, another bird."""

PORTRAITS_FROM: Final = 2000
TRIES: Final = 60
NEAR: Final = 6
"""Two drawings whose fingerprints differ in no more bits than this look alike."""

EDGE: Final = 4  # pixels that must stay free around the bird
LEAST_SHOWN: Final = 4  # traits that a drawing must show


@dataclass(frozen=True, slots=True)
class Drawing:
    """One drawing that was chosen: its seed, its use, and the marks of the traits that it shows."""

    form: str
    seed: int
    use: str
    painting: Painting
    marks: tuple[tuple[str, Region], ...]

    @property
    def is_typical(self) -> bool:
        """Return whether it is the common view: upright, near, square side-on and in view."""
        made = self.painting
        return made.pose in STANDING and made.scene.soft < 0.8 and made.scene.squeeze > 0.92 and made.seen["whole"] > 0.9


def fingerprint(picture: Image.Image) -> int:
    """Return the 64-bit difference hash of a picture: whether each of 8 by 8 cells is brighter than its right neighbour."""
    cells = picture.convert("L").resize((9, 8), Image.Resampling.BOX).tobytes()
    return sum((cells[y * 9 + x] > cells[y * 9 + x + 1]) << (y * 8 + x) for y in range(8) for x in range(8))


def marks(book: Book, form: str, painting: Painting) -> tuple[tuple[str, Region], ...]:
    """Return a mark for each trait that is in view and, where it can be measured, measures as the form's state."""
    found = []
    for key, state in book.states[form].items():
        trait = book.trait(key)
        if trait.is_in_view(painting) and shows_state(trait, state, painting.image, painting) is not False:
            found.append((key, painting.regions[trait.place]))
    return tuple(found)


def choose(book: Book, form: str) -> Iterator[Drawing]:
    """Draw a form until there are enough drawings for every use, no two of them alike."""
    taken: list[int] = []
    seed = 0
    for use, count in COUNTS:
        if use == "portrait":
            yield from _portraits(book, form, count, taken)
            continue
        for _ in range(count):
            yield _draw(book, form, seed, use, taken)
            seed += 1


def _draw(book: Book, form: str, seed: int, use: str, taken: list[int]) -> Drawing:
    """Draw this seed, or the next one of its kind that will do."""
    for again in range(TRIES):
        here = seed + AGAIN * again
        made = paint(form, here)
        drawing = Drawing(form, here, use, made, marks(book, form, made))
        mark = fingerprint(made.image)
        if _will_do(drawing) and all((mark ^ other).bit_count() > NEAR for other in taken):
            taken.append(mark)
            return drawing
    raise ValueError(f"{form}: no drawing like seed {seed} will do")


def _will_do(drawing: Drawing) -> bool:
    """Return whether the bird is in the frame and shows enough to be told."""
    box = drawing.painting.mask.getbbox()
    width, height = drawing.painting.image.size
    if box is None or min(box[0], box[1], width - box[2], height - box[3]) < EDGE:
        return False
    return len(drawing.marks) >= LEAST_SHOWN


def _portraits(book: Book, form: str, count: int, taken: list[int]) -> Iterator[Drawing]:
    """Draw portraits: typical views, large, in plain light, with nearly everything to be seen."""
    found = 0
    for seed in range(PORTRAITS_FROM, PORTRAITS_FROM + 40 * TRIES):
        if found == count:
            return
        scene = stage(form, seed)
        if scene.pose not in STANDING or scene.setting == "water" or scene.light == "backlit" or scene.span < 0.58:
            continue
        drawing = _draw(book, form, seed, "portrait", taken)
        if drawing.is_typical and len(drawing.marks) >= len(book.states[form]) - 1:
            found += 1
            yield drawing
    raise ValueError(f"{form}: only {found} portraits will do")

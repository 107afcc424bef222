"""Small catalogues to bring in, each with a key and pictures of its own, so that a half of one would be seen."""

from __future__ import annotations

import io
import zipfile
from functools import lru_cache
from typing import Final

from tests.acts.pictures import jpeg
from tests.catalogues.folders import CATALOGUE, ROW, SETS, table

PICTURES: Final = 4
WHOLE: Final = {"catalogue_form": 3, "catalogue_pair": 1, "trait": 2, "pair_set": 1, "catalogue_picture": PICTURES}
"""How many rows a whole one has."""


def tide_key(number: int) -> str:
    """Return the key of a catalogue."""
    return f"tide-{number}"


@lru_cache(8)
def tide_zip(number: int) -> bytes:
    """Return one as a zip, the same each time."""
    out = io.BytesIO()
    rows = [ROW | {"file": f"{place}.jpg", "form": ("lesser", "greater")[place % 2]} for place in range(PICTURES)]
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("catalogue.toml", CATALOGUE.replace('key = "mudflat"', f'key = "{tide_key(number)}"'))
        packed.writestr("pair-sets.toml", SETS)
        packed.writestr("pictures.csv", table(rows))
        for place in range(PICTURES):
            packed.writestr(f"pictures/{place}.jpg", jpeg(number * PICTURES + place))
    return out.getvalue()

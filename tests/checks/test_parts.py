"""What the hall ships with may be shipped: every package that it needs, and what those need, is under a licence that lets it.

Source: the licence that each package declares of itself (core metadata 2.4, `License-Expression`, or the classifiers before it).
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib.metadata import Distribution, distribution
from pathlib import Path

from packaging.requirements import Requirement

LETS = re.compile(r"\b(MIT|BSD|Apache|PSF|ISC|CNRI|HPND|Python Software Foundation|0BSD|MIT-CMU|Zlib|Zope|Unlicense|CC0)", re.IGNORECASE)
ASKS_FOR_MORE = re.compile(r"\b[AL]?GPL\b|GNU|SSPL|BUSL|Commons-Clause|NonCommercial", re.IGNORECASE)
TOP = Path(__file__).parents[2]


def _needed(name: str, seen: set[str]) -> Iterator[Distribution]:
    key = re.sub(r"[-_.]+", "-", name).lower()
    if key in seen:
        return
    seen.add(key)
    found = distribution(name)
    yield found
    for requirement in map(Requirement, found.requires or ()):
        if requirement.marker is None or requirement.marker.evaluate({"extra": ""}):
            yield from _needed(requirement.name, seen)


def _licence_of(one: Distribution) -> str:
    told = one.metadata
    said = [told.get("License-Expression") or "", *(line for line in told.get_all("Classifier") or () if line.startswith("License"))]
    return "; ".join(filter(None, said)) or (told.get("License") or "")[:60]


def test_whatever_is_shipped_with_the_hall_may_be() -> None:
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    seen: set[str] = set()
    needed = [one for wanted in project["dependencies"] for one in _needed(Requirement(wanted).name, seen)]
    shipped = {one.metadata["Name"]: _licence_of(one) for one in needed}
    assert len(shipped) > len(project["dependencies"])
    assert {name: said for name, said in shipped.items() if not LETS.search(said) or ASKS_FOR_MORE.search(said)} == {}


def test_the_list_of_parts_is_written_by_ci_and_not_committed() -> None:
    script = (TOP / ".ci/run").read_text(encoding="utf-8")
    assert "cyclonedx-py environment" in script
    assert "/parts.cdx.json" in script
    assert list(TOP.glob("*.cdx.json")) == []

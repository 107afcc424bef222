"""Says in words what fields of a catalogue are about, and how they differ."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from drillhall.catalogues.editing.fields import HEAD, PARTS, Fields, is_order

NAMES: Final[Mapping[str, str]] = {
    "title": "title",
    "language": "language",
    "subject": "subject",
    "list_name": "list of names",
    "note": "note",
    "extra": "what the file says beside",
    "beside": "what the file says beside",
    "sets_beside": "what the file says beside",
    "traits": "order of the traits",
    "forms": "order of the forms",
    "pairs": "order of the pairs",
    "sets": "order of the pair sets",
    "states": "order of the states",
    "label": "word",
    "ask": "question",
    "part": "part",
    "kind": "kind",
    "also_called": "also called",
    "colour": "colour",
    "vernacular_name": "name",
    "scientific_name": "scientific name",
    "taxon_concept_id": "concept id",
    "taxon_rank": "rank",
    "sex": "sex",
    "life_stage": "life stage",
    "plumage": "plumage",
    "variant": "variant",
    "length_mm": "length in mm",
    "commonness": "how common here and now",
    "also_named": "names under other lists",
    "mappings": "how concepts lie to each other",
    "neither": "“neither” is offered",
    "third_share": "share of thirds",
    "thirds": "thirds",
    "stages": "stages",
}
"""A field → the words for it on a page."""

ONE: Final = {"traits": "trait", "forms": "form", "pairs": "pair", "sets": "pair set"}
NEEDED: Final = {"traits": "label", "forms": "vernacular_name", "pairs": "thirds", "sets": "title"}
"""The field without which a thing of a part is not there."""


@dataclass(frozen=True, slots=True)
class Differing:
    """One field that differs: what it is about, what it said or says, and what it says instead; None where it says nothing."""

    about: str
    old: str | None
    new: str | None


class Wording:
    """Words for the fields of one catalogue: names of things are looked up in what it says, in one state or another."""

    def __init__(self, *known: Fields) -> None:
        self._known = known

    def thing(self, path: str) -> str:
        """Return the name of the thing at a path: `traits/bill` is what the trait is called."""
        part, _, key = path.partition("/")
        if part == "pairs":
            return " and ".join(self.thing(f"forms/{form}") for form in key.split(":"))
        if part == "forms":
            wears = [self._find(f"{path}/{name}") for name in ("life_stage", "plumage", "sex", "variant")]
            return ", ".join(word for word in (self._find(f"{path}/vernacular_name") or key, *wears) if word)
        return str(self._find(f"{path}/label") or self._find(f"{path}/title") or key)

    def differing(self, old: Fields, new: Fields) -> tuple[Differing, ...]:
        """Return the fields that differ in words; a whole thing that came or went is one of them."""
        whole = {top: self._whole(top, old, new) for top in dict.fromkeys(_top(path) for path in {**old, **new})}
        said = [difference for difference in whole.values() if difference is not None]
        for path in dict.fromkeys((*old, *new)):
            if whole[_top(path)] is None and not (is_order(path) and _is_same_but_for_more(old.get(path), new.get(path))):
                said.append(Differing(self._about(path), self._value(path, old), self._value(path, new)))
        return tuple(said)

    def _whole(self, top: str, old: Fields, new: Fields) -> Differing | None:
        part = top.partition("/")[0]
        if "/" not in top:
            return None
        needed = f"{top}/{NEEDED[part]}"
        if (needed in old) == (needed in new):
            return None
        name = self.thing(top)
        return Differing(ONE[part], None, name) if needed in new else Differing(ONE[part], name, None)

    def _about(self, path: str) -> str:
        if path in HEAD or path in PARTS:
            return NAMES[path]
        part, key, *rest = path.split("/")
        name = self.thing(f"{part}/{key}")
        if rest[0] == "states" and len(rest) == 3:
            return f"{name}, state {self._find(f'{part}/{key}/states/{rest[1]}/label') or rest[1]}: {NAMES[rest[2]]}"
        if rest[0] == "traits":
            state = self._find(f"traits/{rest[1]}/states/{rest[2]}/label") or rest[2]
            return f"{name}: how often {self.thing(f'traits/{rest[1]}')} is {state}"
        return f"{name}: {NAMES.get(rest[0], rest[0])}"

    def _value(self, path: str, fields: Fields) -> str | None:
        if path not in fields:
            return None
        value = fields[path]
        if is_order(path):
            return ", ".join(self._kept_name(path, key) for key in value)
        name = path.rpartition("/")[2]
        if name == "thirds":
            return "; ".join(f"{self.thing(f'forms/{form}')} by {self.thing(f'traits/{trait}')}" for form, trait in value) or "none"
        if name == "stages":
            return "; ".join(f"{_stage_name(stage)}: {', '.join(self._pair_name(forms) for forms in stage['pairs'])}" for stage in value)
        if name == "mappings":
            return "; ".join(" ".join(one[:3]) + (f" ({one[3]})" if one[3] else "") for one in value) or "nothing"
        return _plain_words(name, value)

    def _pair_name(self, forms: Sequence[str]) -> str:
        return self.thing(f"pairs/{':'.join(forms)}")

    def _kept_name(self, path: str, key: str) -> str:
        return self.thing(f"{path}/{key}") if path in PARTS else str(self._find(f"{path}/{key}/label") or key)

    def _find(self, path: str) -> Any:
        return next((fields[path] for fields in self._known if path in fields), None)


def _top(path: str) -> str:
    """Return the path of the thing that a field belongs to."""
    part, _, rest = path.partition("/")
    return f"{part}/{rest.partition('/')[0]}" if rest else part


def _is_same_but_for_more(old: Any, new: Any) -> bool:
    """Whether two orders differ only by what came or went, which is told by itself."""
    if old is None or new is None:
        return True
    return [key for key in old if key in new] == [key for key in new if key in old]


def _stage_name(stage: Mapping[str, Any]) -> str:
    held = [*stage.get("poses", ()), *stage.get("distances", ())]
    return f"{stage['title']} ({', '.join(held)} alone)" if held else str(stage["title"])


def _plain_words(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name == "third_share":
        return f"{value * 100:g} %"
    if value is None or value in ("", [], {}):
        return "nothing"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)

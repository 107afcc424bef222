"""Says in words what fields of a catalogue are about, and how they differ."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from drillhall.catalogues.editing import list_words, value_words
from drillhall.catalogues.editing.fields import HEAD, PARTS, Fields, is_order
from drillhall.catalogues.editing.value_words import HOW_OFTEN
from drillhall.core import term_words
from drillhall.core.measure_words import measure_in_words
from drillhall.core.reading import COMMONNESS_WORDS
from drillhall.core.values import Measured
from drillhall.words import Said, joined, say

NAMES: Final[Mapping[str, Said]] = {
    "title": say("title", ctx="field"),
    "language": say("language", ctx="field"),
    "subject": say("subject", ctx="field"),
    "list_name": say("list of names", ctx="field"),
    "note": say("note", ctx="field"),
    "extra": say("what the file says beside", ctx="field"),
    "beside": say("what the file says beside", ctx="field"),
    "sets_beside": say("what the file says beside", ctx="field"),
    "traits": say("order of the traits", ctx="field"),
    "forms": say("order of the forms", ctx="field"),
    "pairs": say("order of the pairs", ctx="field"),
    "sets": say("order of the pair sets", ctx="field"),
    "states": say("order of the states", ctx="field"),
    "label": say("word", ctx="field"),
    "ask": say("question", ctx="field"),
    "part": say("part", ctx="field"),
    "kind": say("kind", ctx="field"),
    "unit": say("unit of measure", ctx="field"),
    "also_called": say("also called", ctx="field"),
    "colour": say("colour", ctx="field"),
    "vernacular_name": say("name", ctx="field"),
    "scientific_name": say("scientific name", ctx="field"),
    "taxon_concept_id": say("concept id", ctx="field"),
    "taxon_rank": say("rank", ctx="field"),
    "sex": say("sex", ctx="field"),
    "life_stage": say("life stage", ctx="field"),
    "plumage": say("plumage", ctx="field"),
    "variant": say("variant", ctx="field"),
    "length_mm": say("length in mm", ctx="field"),
    "commonness": say("how common here and now", ctx="field"),
    "also_named": say("names under other lists", ctx="field"),
    "called": say("names in other languages", ctx="field"),
    "mappings": say("how concepts lie to each other", ctx="field"),
    "neither": say("“neither” is offered", ctx="field"),
    "third_share": say("share of thirds", ctx="field"),
    "thirds": say("thirds", ctx="field"),
    "stages": say("stages", ctx="field"),
}
"""A field → the words for it on a page."""

VALUES: Final[Mapping[str, Mapping[str, Said]]] = {
    "subject": value_words.SUBJECTS,
    "taxon_rank": value_words.TAXON_RANKS,
    "kind": value_words.TRAIT_KINDS,
    "life_stage": term_words.LIFE_STAGES,
    "sex": term_words.SEXES,
    "commonness": COMMONNESS_WORDS,
}
"""A field that is kept as a key → the words for its values."""

ONE: Final = {"traits": say("trait"), "forms": say("form", ctx="of a catalogue"), "pairs": say("pair"), "sets": say("pair set")}
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
            return joined_pair([self.thing(f"forms/{form}") for form in key.split(":")])
        if part == "forms":
            wears = [in_words(name, self._find(f"{path}/{name}")) for name in ("life_stage", "plumage", "sex", "variant")]
            return joined(", ", [word for word in (self._find(f"{path}/vernacular_name") or key, *wears) if word])
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
        if rest[0] == "states" and len(rest) > 1:
            state = self._find(f"{part}/{key}/states/{rest[1]}/label") or rest[1]
            return say("{name}, state {state}: {field}", name=name, state=state, field=_field(rest[2:]))
        if rest[0] == "traits":
            state = self._find(f"traits/{rest[1]}/states/{rest[2]}/label") or rest[2]
            return say("{name}: how often {trait} is {state}", name=name, trait=self.thing(f"traits/{rest[1]}"), state=state)
        if rest[0] == "measures":
            return say("{name}: what {trait} measures", name=name, trait=self.thing(f"traits/{rest[1]}"))
        return joined(": ", (name, _field(rest)))

    def _value(self, path: str, fields: Fields) -> str | None:
        if path not in fields:
            return None
        value = fields[path]
        if is_order(path):
            return joined(", ", [self._kept_name(path, key) for key in value])
        if path.split("/")[::2][:2] == ["forms", "measures"]:
            return measure_in_words(Measured(*value), str(self._find(f"traits/{path.rpartition('/')[2]}/unit") or ""))
        name = path.rpartition("/")[2]
        if name == "thirds":
            return joined("; ", [self._third(form, trait) for form, trait in value]) or say("none", ctx="of third forms")
        if name == "stages":
            return joined(
                "; ", [joined(": ", (list_words.stage(stage), joined(", ", map(self._pair_name, stage["pairs"])))) for stage in value]
            )
        return _plain_words(name, value)

    def _pair_name(self, forms: Sequence[str]) -> str:
        return self.thing(f"pairs/{':'.join(forms)}")

    def _third(self, form: str, trait: str) -> Said:
        return say("{form} by {trait}", form=self.thing(f"forms/{form}"), trait=self.thing(f"traits/{trait}"))

    def _kept_name(self, path: str, key: str) -> str:
        return self.thing(f"{path}/{key}") if path in PARTS else str(self._find(f"{path}/{key}/label") or key)

    def _find(self, path: str) -> Any:
        return next((fields[path] for fields in self._known if path in fields), None)


def joined_pair(names: Sequence[str]) -> str:
    """Return the names of the two forms of a pair as a language puts two things together."""
    return say("{first} and {second}", first=names[0], second=names[1]) if len(names) == 2 else joined(", ", names)


def in_words(name: str, value: Any) -> Any:
    """Return the value of a field in words where it is a key, else as it is."""
    return VALUES[name].get(value, value) if name in VALUES else HOW_OFTEN.get(value, value)


def _field(path: Sequence[str]) -> str:
    """Return the name of a field by the end of its path; of one in another language, which."""
    if path[0] == "said":
        return say("{field} in {language}", field=NAMES[path[2]], language=path[1])
    return NAMES.get(path[0], path[0])


def _top(path: str) -> str:
    """Return the path of the thing that a field belongs to."""
    part, _, rest = path.partition("/")
    return f"{part}/{rest.partition('/')[0]}" if rest else part


def _is_same_but_for_more(old: Any, new: Any) -> bool:
    """Whether two orders differ only by what came or went, which is told by itself."""
    if old is None or new is None:
        return True
    return [key for key in old if key in new] == [key for key in new if key in old]


def _plain_words(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    if name == "third_share":
        return say("{share:g} %", share=value * 100)
    if value is None or value in ("", [], {}):
        return say("nothing")
    if name in list_words.IN_WORDS:
        return list_words.IN_WORDS[name](value)
    return joined(", ", [in_words(name, one) for one in value]) if isinstance(value, list) else in_words(name, str(value))

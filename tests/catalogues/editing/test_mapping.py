"""How concepts lie to each other, as it is typed: the six relations of the standard, replaced, taken out and refused."""

from __future__ import annotations

import pytest

from drillhall.catalogues.editing.asked import read_asked
from drillhall.catalogues.editing.mapping import RELATIONS, asked_of, drop_mapping, list_mappings, say_mapping
from drillhall.catalogues.folder import FolderCatalogue, FolderForm, FolderMapping
from drillhall.core.terms import MAPPING_RELATIONS
from drillhall.errors import Invalid, NotFound

TEAL = FolderCatalogue(
    key="teal",
    title="Teal",
    subject="bird",
    list_name="Invented List 2031",
    forms=(FolderForm("teal", "Fictanas crecca", "Lying teal", "new/crecca"),),
    mappings=(FolderMapping("new/crecca", "includes", "old/crecca"), FolderMapping("new/erecta", "isDisjointFrom", "new/crecca")),
)


def said(other: str, relation: str = "isIncludedIn", subject: str = "new/crecca") -> FolderCatalogue:
    typed = {"subject": subject, "relation": relation, "object": other, "according_to": ""}
    return say_mapping(TEAL, read_asked(asked_of(TEAL), typed))


def test_each_relation_of_the_standard_may_be_said_and_has_words() -> None:
    assert tuple(RELATIONS) == MAPPING_RELATIONS
    for relation in MAPPING_RELATIONS:
        assert said("far/crecca", relation).mappings[-1] == FolderMapping("new/crecca", relation, "far/crecca")


def test_of_the_same_two_the_latest_stands_in_its_place_whichever_way_round() -> None:
    assert said("old/crecca").mappings[0] == FolderMapping("new/crecca", "isIncludedIn", "old/crecca")
    assert said("new/erecta").mappings == (TEAL.mappings[0], FolderMapping("new/crecca", "isIncludedIn", "new/erecta"))


def test_a_list_and_a_name_make_the_id() -> None:
    assert said("Old List 2019 | Fictanas crecca").mappings[-1].object == "old-list-2019/fictanas-crecca"


def test_both_names_are_told_where_the_catalogue_has_them() -> None:
    first, second = list_mappings(TEAL)
    assert (first.subject_name, first.words, first.object_name) == ("Lying teal (Fictanas crecca)", "is wider than", "")
    assert (second.subject_name, second.object_name) == ("", "Lying teal (Fictanas crecca)")


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"other": "new/crecca"}, "object"),
        ({"other": ""}, "object"),
        ({"other": "Old List 2019 |"}, "object"),
        ({"other": "x" * 201}, "object"),
        ({"other": "old/crecca", "relation": "lumps"}, "relation"),
        ({"other": "old/crecca", "subject": "nobody's"}, "subject"),
    ],
)
def test_what_cannot_be_meant_names_its_field(typed: dict[str, str], field: str) -> None:
    with pytest.raises(Invalid) as wrong:
        said(**typed)
    assert wrong.value.field == field


def test_only_what_is_said_is_taken_out() -> None:
    assert drop_mapping(TEAL, "new/crecca", "old/crecca").mappings == TEAL.mappings[1:]
    with pytest.raises(NotFound):
        drop_mapping(TEAL, "old/crecca", "new/crecca")

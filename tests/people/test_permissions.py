"""The table of who may do what, and whose catalogue it is."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from drillhall.errors import NotFound
from drillhall.people import accounts
from drillhall.people.permissions import MAY, Role, is_steward, may, roles_of, the_stewarded
from drillhall.people.person import Person, Preferences
from drillhall.store.models.catalogue import CatalogueRow, StewardRow
from drillhall.store.session import Store
from tests.cast import LEARNER, STRANGER

AT = datetime(2031, 3, 3, 9, tzinfo=UTC)
LEARNS = Person(1, "Oda", is_keeper=False, preferences=Preferences())
KEEPS = Person(2, "Runa", is_keeper=True, preferences=Preferences())


ACCOUNT = frozenset({Role.ACCOUNT, Role.MEMBER, Role.LEADER, Role.TEACHER, Role.STEWARD, Role.KEEPER})
HEADS = frozenset({Role.LEADER, Role.TEACHER})
AGREED: dict[str, frozenset[Role]] = {
    **dict.fromkeys(("enter", "answer an open question"), ACCOUNT | {Role.VISITOR}),
    **dict.fromkeys(("own account", "own drill", "own standing", "own pictures", "see a picture"), ACCOUNT),
    **dict.fromkeys(("take pairs from the shelf", "make a catalogue", "make or join a group"), ACCOUNT),
    **dict.fromkeys(("see a group", "see weak spots in sum"), HEADS | {Role.MEMBER}),
    **dict.fromkeys(("lead a group", "see weak spots by name", "give a passphrase"), HEADS),
    "keep a roster": frozenset({Role.TEACHER}),
    "write a catalogue": frozenset({Role.STEWARD}),
    "keep the hall": frozenset({Role.KEEPER}),
}
"""Who may do what, written once more by hand; which route is which action, and that each is asked, tests/web/test_who_may.py walks."""


def test_every_cell_of_the_table_is_as_it_was_agreed() -> None:
    assert dict(MAY) == AGREED


@pytest.mark.parametrize(
    ("person", "steward", "roles"),
    [
        (None, False, {Role.VISITOR}),
        (None, True, {Role.VISITOR}),
        (LEARNS, False, {Role.ACCOUNT}),
        (LEARNS, True, {Role.ACCOUNT, Role.STEWARD}),
        (KEEPS, False, {Role.ACCOUNT, Role.KEEPER}),
    ],
)
def test_roles_add_up(person: Person | None, steward: bool, roles: set[Role]) -> None:
    assert roles_of(person, is_steward=steward) == roles


def test_a_visitor_may_enter_and_answer_an_open_question_and_nothing_else() -> None:
    assert [action for action in MAY if may(roles_of(None), action)] == ["enter", "answer an open question"]


def test_keeping_the_hall_is_the_keepers_alone_and_does_not_write_others_catalogues() -> None:
    assert not may(roles_of(LEARNS, is_steward=True), "keep the hall")
    assert may(roles_of(KEEPS), "keep the hall")
    assert not may(roles_of(KEEPS), "write a catalogue")


def test_an_action_without_a_row_is_a_fault_not_a_yes() -> None:
    with pytest.raises(KeyError):
        may(roles_of(KEEPS), "fly")


def test_the_table_cannot_be_written() -> None:
    with pytest.raises(TypeError):
        MAY["enter"] = frozenset()  # type: ignore[index]


def test_a_catalogue_is_written_by_its_own_stewards(store: Store) -> None:
    with store.work() as db:
        hers, another = (accounts.make_account(db, name=one.name, passphrase=one.passphrase, at=AT) for one in (LEARNER, STRANGER))
        catalogue = CatalogueRow(key="waders", title="Waders", subject="bird", list_name="List", made_at=AT, changed_at=AT)
        db.add(catalogue)
        db.flush()
        db.add(StewardRow(catalogue_id=catalogue.id, account_id=hers.id))
    with store.look() as db:
        assert the_stewarded(db, hers, catalogue.id) == catalogue.id
        assert is_steward(db, hers)
        assert not is_steward(db, another)
        for person, number in ((another, catalogue.id), (hers, catalogue.id + 1)):
            with pytest.raises(NotFound, match="There is no such catalogue"):
                the_stewarded(db, person, number)

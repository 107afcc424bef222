"""A change of a catalogue: kept whole with its history or not at all, told in words, and taken back."""

from __future__ import annotations

import shutil
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select

from drillhall.catalogues.editing import making, things
from drillhall.catalogues.editing.changing import Edit, Seen, Stale, the_opened
from drillhall.catalogues.editing.fields import read_chance, to_fields
from drillhall.catalogues.editing.history import ON_A_PAGE
from drillhall.catalogues.folder import FolderCatalogue, FolderThird
from drillhall.errors import Conflict, DrillhallError, Invalid, NotFound
from drillhall.store.models.catalogue import CatalogueChangeRow, CatalogueFormRow, CataloguePairRow, StewardRow, TraitRow
from drillhall.store.session import Store
from tests.catalogues.editing.desk import AT, Desk, add_account, open_desk
from tests.catalogues.invented import catalogues


def note(text: str) -> Edit:
    return lambda said: replace(said, note=text)


def pair_note(text: str) -> Edit:
    return lambda said: things.change_pair(said, "lesser:greater", note=text, neither=True, third_share=0.05, thirds=said.pairs[0].thirds)


def count(store: Store, kind: Any) -> int:
    with store.look() as db:
        return db.scalar(select(func.count()).select_from(kind)) or 0


def test_a_change_is_kept_and_told(desk: Desk) -> None:
    desk.change(lambda said: things.say_chances(said, {("lesser", "bill", "straight"): read_chance("18 of 20")}), thing="forms/lesser")
    (told,) = desk.history().changes
    assert (told.by, told.kind, told.thing, told.at) == ("Ada", "changed", "Lesser Oozer, adult", desk.now())
    (one,) = told.differing
    assert (one.about, one.old, one.new) == ("Lesser Oozer, adult: how often Bill is straight", "always", "18 of 20")
    assert desk.said().forms[0].traits["bill"]["straight"].of == 20


def test_what_changes_nothing_leaves_no_trace(desk: Desk) -> None:
    desk.change(lambda said: said)
    assert desk.history().changes == ()


def test_a_change_with_a_fault_keeps_nothing(desk: Desk) -> None:
    before = desk.fields()
    with pytest.raises(Invalid, match="pairs a form with itself"):
        desk.change(lambda said: replace(said, pairs=(*said.pairs, replace(said.pairs[0], forms=("third", "third")))))
    assert desk.fields() == before
    assert count(desk.store, CatalogueChangeRow) == 0


def test_retired_rows_stay_and_come_back_as_they_were(desk: Desk) -> None:
    before, rows = desk.fields(), [count(desk.store, kind) for kind in (CatalogueFormRow, TraitRow, CataloguePairRow)]
    desk.change(lambda said: things.retire_form(said, "lesser"), "retired", "forms/lesser")
    desk.change(lambda said: things.retire_trait(said, "legs"), "retired", "traits/legs")
    assert [count(desk.store, kind) for kind in (CatalogueFormRow, TraitRow, CataloguePairRow)] == rows
    last, first = desk.history().changes
    assert ("pair", "Lesser Oozer, adult and Greater Oozer, adult", None) in [(one.about, one.old, one.new) for one in first.differing]
    desk.undo(last.id)
    desk.undo(first.id)
    assert desk.fields() == before


def test_a_change_is_taken_back_beside_later_ones_elsewhere(desk: Desk) -> None:
    desk.change(note("one"))
    desk.change(pair_note("two"))
    first = desk.history().changes[-1]
    assert first.may_undo
    desk.undo(first.id)
    assert (desk.said().note, desk.said().pairs[0].note) == ("", "two")
    assert [one.kind for one in desk.history().changes] == ["taken back", "changed", "changed"]
    assert desk.history().changes[-1].undone_at == desk.now()


def test_what_was_changed_since_is_not_taken_back(desk: Desk) -> None:
    desk.change(note("one"))
    desk.change(note("two"))
    first = desk.history().changes[-1]
    assert not first.may_undo
    with pytest.raises(Conflict, match=r"changed again since: note\."):
        desk.undo(first.id)
    assert desk.said().note == "two"


def test_nothing_is_taken_back_twice(desk: Desk) -> None:
    desk.change(note("one"))
    (first,) = desk.history().changes
    desk.undo(first.id)
    with pytest.raises(Conflict, match="taken back already"):
        desk.undo(first.id)
    desk.undo(desk.history().changes[0].id)  # but what took it back may be
    assert desk.said().note == "one"


def test_what_others_rest_on_is_not_taken_back(desk: Desk) -> None:
    desk.change(lambda said: things.add_pair(said, "greater", "third"), "added")
    added = desk.history().changes[0]
    desk.change(lambda said: things.retire_form(said, "third"), "retired", "forms/third")
    retired = desk.history().changes[0]
    with pytest.raises(Conflict):
        desk.undo(added.id)
    desk.undo(retired.id)
    desk.undo(added.id)
    assert len(desk.said().pairs) == 1


def test_a_trait_that_thirds_need_is_not_taken_back(desk: Desk) -> None:
    values = {"label": "Tail", "ask": "", "part": "tail", "kind": "size", "note": ""}
    states = (things.SaidState("", "short"), things.SaidState("", "long"))
    desk.change(lambda said: things.add_trait(said, values, states, taken=()), "added")
    added = desk.history().changes[0]
    desk.change(
        lambda said: things.change_pair(
            said, "lesser:greater", note="", neither=True, third_share=0.05, thirds=[FolderThird("third", "tail")]
        )
    )
    with pytest.raises(Conflict, match="cannot be taken back as things are now"):
        desk.undo(added.id)


def test_a_change_of_another_catalogue_is_not_found(desk: Desk) -> None:
    with pytest.raises(NotFound):
        desk.undo(999)
    other = open_desk(desk.store, replace(desk.said(), key="other"), desk.account_id)
    other.change(note("there"))
    with pytest.raises(NotFound):
        desk.undo(other.history().changes[0].id)


def test_the_second_to_save_sees_both(desk: Desk) -> None:
    scope = ("note", "title")
    version = desk.opened().version(scope)
    desk.change(note("theirs"))
    with pytest.raises(Stale) as refused:
        desk.change(note("hers"), seen=Seen(scope, version))
    (one,) = refused.value.differing
    assert (one.about, one.old, one.new, refused.value.by) == ("note", "theirs", "hers", "Ada")
    assert desk.said().note == "theirs"
    desk.change(note("hers"), seen=Seen(scope, refused.value.version))
    assert desk.said().note == "hers"


def test_two_who_say_the_same_do_not_clash(desk: Desk) -> None:
    version = desk.opened().version(("note",))
    desk.change(note("same"))
    desk.change(note("same"), seen=Seen(("note",), version))
    assert len(desk.history().changes) == 1


def test_what_is_changed_elsewhere_does_not_clash(desk: Desk) -> None:
    version = desk.opened().version(("note",))
    desk.change(pair_note("elsewhere"))
    desk.change(note("here"), seen=Seen(("note",), version))
    assert desk.said().note == "here"


def test_the_history_has_pages(desk: Desk) -> None:
    for number in range(ON_A_PAGE + 1):
        desk.change(note(f"{number}"))
    assert (len(desk.history().changes), desk.history().pages) == (ON_A_PAGE, 2)
    assert [one.differing[0].new for one in desk.history(2).changes] == ["0"]
    for page in (0, 3):
        with pytest.raises(NotFound):
            desk.history(page)


def test_only_a_steward_opens_it(desk: Desk) -> None:
    other = add_account(desk.store, "Ben")
    with desk.store.look() as db, pytest.raises(NotFound):
        the_opened(db, desk.key, other)


def test_the_last_steward_stays(desk: Desk) -> None:
    other = add_account(desk.store, "Ben")
    with desk.store.work() as db, pytest.raises(Conflict, match="needs somebody"):
        making.end_stewardship(db, desk.opened(), desk.account_id, by=desk.account_id, at=AT)
    with desk.store.work() as db:
        making.give_stewardship(db, desk.opened(), making.Steward(other, "Ben"), by=desk.account_id, at=AT)
    with desk.store.work() as db, pytest.raises(Conflict, match="already"):
        making.give_stewardship(db, desk.opened(), making.Steward(other, "Ben"), by=desk.account_id, at=AT)
    with desk.store.work() as db:
        making.end_stewardship(db, desk.opened(), desk.account_id, by=desk.account_id, at=AT)
    with desk.store.look() as db:
        assert list(db.scalars(select(StewardRow.account_id))) == [other]
        with pytest.raises(NotFound):
            the_opened(db, desk.key, desk.account_id)


def test_a_catalogue_is_retired_and_taken_back(desk: Desk) -> None:
    before = desk.fields()
    with desk.store.work() as db:
        making.retire_catalogue(db, desk.opened(), by=desk.account_id, at=AT)
    with pytest.raises(NotFound):
        desk.opened()
    with desk.store.work() as db, pytest.raises(NotFound):
        making.take_back_catalogue(db, desk.key, by=add_account_in(desk), at=AT)
    with desk.store.work() as db:
        assert [one.key for one in making.list_retired(db, desk.account_id)] == [desk.key]
        making.take_back_catalogue(db, desk.key, by=desk.account_id, at=AT)
    assert desk.fields() == before
    assert [one.kind for one in desk.history().changes] == ["taken back as a whole", "retired as a whole"]
    assert not any(one.may_undo for one in desk.history().changes)


def add_account_in(desk: Desk) -> int:
    """Return an account that no catalogue has."""
    return desk.account_id + 1000


def test_a_catalogue_gets_a_key_of_its_own(desk: Desk) -> None:
    values = {"title": "New", "subject": "bird", "language": "en", "list_name": "L", "note": ""}
    with desk.store.work() as db:
        keys = [making.make_catalogue(db, values | {"title": title}, by=desk.account_id, at=AT) for title in ("New", "new!", "Mudflat")]
    assert keys == ["new-2", "new-3", "mudflat-2"]


EDITS: dict[str, Any] = {
    "note": lambda said, pick: replace(said, note=f"{said.note}."),
    "retire a form": lambda said, pick: things.retire_form(said, pick(said.forms)),
    "retire a trait": lambda said, pick: things.retire_trait(said, pick(said.traits)),
    "retire a pair": lambda said, pick: things.retire_pair(said, pick(said.pairs)),
    "retire a set": lambda said, pick: things.retire_set(said, pick(said.sets)),
    "form earlier": lambda said, pick: things.move(said, "forms", pick(said.forms), earlier=True),
    "trait later": lambda said, pick: things.move(said, "traits", pick(said.traits), earlier=False),
    "pair": lambda said, pick: things.add_pair(said, pick(said.forms), pick(said.forms[::-1])),
    "turn states": lambda said, pick: replace(said, traits=tuple(replace(one, states=one.states[::-1]) for one in said.traits)),
}


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(
    said=catalogues(files=()), names=st.lists(st.sampled_from(list(EDITS)), min_size=1, max_size=5), draw=st.randoms(use_true_random=False)
)
def test_whatever_is_changed_is_taken_back_step_by_step(
    empty_sqlite: Path, tmp_path: Path, said: FolderCatalogue, names: list[str], draw: Any
) -> None:
    # A folder for each run: what one that broke off left open beside its file would be read into the next one's.
    folder = Path(mkdtemp(dir=tmp_path))
    with closing(Store(f"sqlite:///{shutil.copy(empty_sqlite, folder / 'hall.sqlite')}")) as store:
        _change_and_take_back(store, said, names, draw)


def _change_and_take_back(store: Store, said: FolderCatalogue, names: list[str], draw: Any) -> None:
    desk = open_desk(store, said, add_account(store, "Ada"))
    states = [to_fields(desk.said())]
    for name in names:
        try:
            desk.change(lambda one, name=name: EDITS[name](one, lambda items: draw.choice(items).key if items else "nothing"), name)
        except DrillhallError:
            continue
        if to_fields(desk.said()) != states[-1]:
            states.append(to_fields(desk.said()))
    changes = list(desk.history().changes)
    assert len(changes) == len(states) - 1
    for change, before in zip(changes, reversed(states[:-1]), strict=True):
        desk.undo(change.id)
        assert to_fields(desk.said()) == before

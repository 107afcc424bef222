"""Opening the demo: its people, its catalogue, and histories that the real engine has made."""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.acts import demo_renditions
from drillhall.acts.open_demo import draw_demo, invite_in, open_demo
from drillhall.demo import scenario
from drillhall.errors import BadImport, Invalid, NotFound
from drillhall.people import accounts
from drillhall.people.groups import list_groups, list_members
from drillhall.pictures.accepting import list_open_offers
from drillhall.pictures.shared import list_shared
from drillhall.pictures.storage import FolderStorage
from drillhall.practice.drilling import start_drill
from drillhall.practice.folding import rebuild
from drillhall.practice.outings import list_outings
from drillhall.practice.playing import the_packet
from drillhall.practice.seasons import list_entries
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.practice.weak_spots.report import the_weak_spots
from drillhall.store.models.catalogue import FormMeasureRow, TraitRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, HallRateRow, MemoryRow, ShowingRow, TallyRow
from drillhall.store.session import Store
from tests.demo.few import write_few_cards
from tests.engines import make_empty_sqlite

NOW = datetime(2031, 9, 1, 12, 30, tzinfo=UTC)
FORMS = 2
"""Of so many are drawings kept from far off here; a shape takes half a second."""

FEW = (
    next(person for person in scenario.PEOPLE if person.is_keeper),
    next(person for person in scenario.PEOPLE if person.name == "Zaynab"),
    next(person for person in scenario.PEOPLE if not person.began),
    scenario.Invented("Nuala Teape", "learner in the club", "draws", zeal=0.9, began=1, group=scenario.CLUB),
    *(person for person in scenario.PEOPLE if person.group == scenario.CLASS and person.name != "Zaynab"),
)


@dataclass
class Opened:
    """A demo hall, and what was told while it was made."""

    store: Store
    storage: FolderStorage
    cards: Path
    told: list[tuple[str, int, int]] = field(default_factory=list)


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opened]:
    folder = tmp_path_factory.mktemp("demo")
    made = Opened(
        Store(f"sqlite:///{make_empty_sqlite(folder / 'hall.sqlite')}"),
        FolderStorage(folder / "pictures"),
        write_few_cards(folder / "cards"),
    )
    with pytest.MonkeyPatch.context() as patch, made.store.work() as db:
        patch.setattr(scenario, "PEOPLE", FEW)
        patch.setattr(demo_renditions, "FORMS", FORMS)
        _open(db, made)
    yield made
    made.store.close()


def _open(db: Session, made: Opened) -> None:
    open_demo(db, made.storage, made.cards, at=NOW, dice=Random(5), progress=lambda *told: made.told.append(told))


def _account(db: Session, name: str) -> AccountRow:
    return db.scalars(select(AccountRow).where(AccountRow.name == name)).one()


def test_its_people_are_there_and_one_keeps_the_hall(opened: Opened) -> None:
    with opened.store.look() as db:
        assert {one.name: one.is_keeper for one in accounts.list_accounts(db)} == {person.name: person.is_keeper for person in FEW}


def test_progress_is_told_to_the_end(opened: Opened) -> None:
    for what in ("Taking in the drawings", "Playing their drills"):
        done = [(at, total) for words, at, total in opened.told if words == what]
        assert done == sorted(done)
        assert done[-1][0] == done[-1][1] > 0


def test_no_drawing_is_asked_for_what_is_measured(opened: Opened) -> None:
    with opened.store.look() as db:
        (measured,) = db.scalars(select(TraitRow).where(TraitRow.unit != ""))
        assert db.scalar(select(func.count()).where(FormMeasureRow.trait_id == measured.id)) == 3
        asked = {ask["trait"] for asks in db.scalars(select(ShowingRow.asks)) for ask in asks if ask["kind"] == "trait"}
        known = set(db.scalars(select(TraitRow.id))) | set(db.scalars(select(TraitRow.key)))
        assert asked
        assert asked <= known - {measured.id, measured.key}


def test_drills_lie_in_the_past_and_every_question_was_answered(opened: Opened) -> None:
    with opened.store.look() as db:
        drills = list(db.scalars(select(DrillRow)))
        assert len(drills) >= 4
        for drill in drills:
            assert drill.planned_at.date() < NOW.date()
        assert all(at < NOW for at in db.scalars(select(AnswerRow.at)))
        who = _account(db, "Zaynab").id
        packet = the_packet(db, who, max(drills, key=lambda drill: (drill.account_id == who, drill.planned_at)).id, now=NOW)
        assert all(len(showing.given) == len(showing.questions) for one in packet.rounds for showing in one.showings)


def test_some_drawings_are_there_from_far_off_and_as_shapes(opened: Opened) -> None:
    with opened.store.look() as db:
        kept = Counter(db.scalars(select(FileRow.rendition)))
    assert kept["far off"] == FORMS * demo_renditions.FROM_AFAR
    assert kept["shape only"] > 0


def test_whoever_has_not_begun_has_nothing_behind_him(opened: Opened) -> None:
    with opened.store.look() as db:
        who = _account(db, FEW[2].name).id
        for rows in (DrillRow, AnswerRow, MemoryRow, TallyRow):
            assert db.scalar(select(func.count()).select_from(rows).where(rows.account_id == who)) == 0


def test_the_histories_are_what_a_rebuild_makes_of_the_log(opened: Opened) -> None:
    with opened.store.work() as db:
        before = _folds(db)
        rebuild(db)
        db.flush()
        assert before[0]
        assert _folds(db) == before


def _folds(db: Session) -> tuple[list[tuple[object, ...]], list[tuple[object, ...]]]:
    memory = select(MemoryRow.account_id, MemoryRow.pair_id, MemoryRow.stability_days, MemoryRow.rounds, MemoryRow.due_day)
    tally = select(TallyRow.account_id, TallyRow.pair_id, TallyRow.shown_form_id, TallyRow.said_form_id, TallyRow.week, TallyRow.count)
    return sorted(map(tuple, db.execute(memory))), sorted(map(tuple, db.execute(tally)))


def test_today_is_open_for_whoever_steps_in(opened: Opened) -> None:
    with opened.store.work() as db:
        who = _account(db, "Zaynab").id
        drill_id = start_drill(db, who, drill_id="0197a000-0000-7000-8000-000000000001", at=NOW)
        packet = the_packet(db, who, drill_id, now=NOW)
        assert packet.planned_at == NOW
        pictures = [showing.picture for one in packet.rounds for showing in one.showings]
        assert pictures
        assert all(picture.medium == "Drawing" and "the Drillhall project" in picture.credit for picture in pictures)


def test_the_club_has_its_people_and_pictures_and_the_catalogue_its_offers(opened: Opened) -> None:
    with opened.store.look() as db:
        leader = accounts.the_person_of(db, _account(db, FEW[0].name).id)
        club = next(one.group for one in list_groups(db, leader))
        assert (club.title, club.role) == (scenario.CLUB, "leader")
        assert [one.name for one in list_members(db, club, asks=leader)] == [FEW[0].name, FEW[2].name, FEW[3].name]
        shared = list_shared(db, club.id, viewer_id=leader.id, on=NOW.date())
        assert shared.total == scenario.SHARED
        assert all(one.is_own for one in shared.pictures)
        (outing,) = list_outings(db, club.id)
        assert (outing.title, outing.day > NOW.date()) == (scenario.OUTING, True)
        assert sorted(one.kind for one in list_entries(db, club.id)) == ["here", "lesson"]
        offered = list_open_offers(db, 1, on=NOW.date())
        assert [(one.owner, one.may_now) for one in offered] == [("Nuala Teape", True)] * 2
        assert {one.form.name for one in offered if one.form} == {"Dunlin", "Sanderling"}


def test_what_the_class_has_got_wrong_stands_first_among_its_weak_spots(opened: Opened) -> None:
    with opened.store.look() as db:
        teacher = accounts.the_person_of(db, _account(db, "Bram Ockley").id)
        group = next(one.group for one in list_groups(db, teacher))
        told = the_weak_spots(db, group.id, group.role, Chosen(), today=NOW.date())
    first = {(spot.shown.name, spot.said.name) for spot in told.spots[:8]}
    assert len(scenario.CONFUSED) == 5
    assert set(scenario.CONFUSED) <= first
    assert told.lessons[0].met == told.named == 6


def test_the_halls_rates_are_summed_and_agree_with_its_counts(opened: Opened) -> None:
    with opened.store.look() as db:
        shown = db.scalar(select(func.sum(HallRateRow.shown)))
        plain = TallyRow.choices == 2, TallyRow.rendition == "as taken"
        assert shown == db.scalar(select(func.sum(TallyRow.count)).where(*plain))
        assert shown


def test_a_link_lets_in_once_and_new_links_end_the_old(opened: Opened) -> None:
    with opened.store.work() as db:
        first = invite_in(db, until=NOW + timedelta(days=1))
        second = invite_in(db, until=NOW + timedelta(days=1))
        assert {one.name for one in second} == {person.name for person in FEW}
        with pytest.raises(NotFound):
            accounts.step_in(db, first[0].token, at=NOW)
        assert accounts.step_in(db, second[0].token, at=NOW)
        with pytest.raises(NotFound):
            accounts.step_in(db, second[0].token, at=NOW)


def test_somebody_who_joined_later_is_not_offered(opened: Opened) -> None:
    with opened.store.work() as db:
        accounts.make_account(db, name="A visitor", passphrase="tide and mud and wind", at=NOW)
        assert "A visitor" not in {one.name for one in invite_in(db, until=NOW + timedelta(days=1))}


def test_a_spoilt_set_leaves_nothing_behind(opened: Opened, sqlite_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scenario, "PEOPLE", FEW)
    cards = Path(shutil.copytree(opened.cards, tmp_path / "cards"))
    next((cards / "estuary-waders" / "pictures").iterdir()).write_bytes(b"no picture")
    spoilt = Opened(sqlite_store, FolderStorage(tmp_path / "pictures"), cards)
    with pytest.raises(BadImport), sqlite_store.work() as db:
        _open(db, spoilt)
    with sqlite_store.look() as db:
        assert db.scalar(select(func.count()).select_from(AccountRow)) == 0
        assert db.scalar(select(func.count()).select_from(PictureRow)) == 0
    assert list(spoilt.storage.keys()) == []


def test_drawings_are_not_laid_over_others(tmp_path: Path) -> None:
    (tmp_path / "pictures").mkdir()
    with pytest.raises(Invalid, match="holds pictures already"):
        draw_demo(tmp_path, progress=lambda _: None)

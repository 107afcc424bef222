"""What is about a person: every table is told of, and every column that names an account, so that a new one cannot be forgotten."""

from __future__ import annotations

import pytest
from sqlalchemy import Column, ForeignKey, Integer, MetaData, Table

from drillhall.people.kept import SUBJECTS
from drillhall.pictures.erasing import NAMED_BY
from drillhall.store.base import Row
from drillhall.store.models.people import AccountRow
from drillhall.store.queries.about import ABOUT, GO, LOOKED_UP, NAMELESS, NOT_ABOUT, PICTURES, by_table

TABLES = Row.metadata.tables
COLUMNS = {name: tuple(table.columns.keys()) for name, table in TABLES.items()}


def unnamed(metadata: MetaData) -> set[str]:
    """Return the columns of the tables of ABOUT that hold an account's id and are not said to, and the tables of which nothing is said."""
    said = {name: {column for one in entries for column in one.columns} for name, entries in by_table().items()}
    columns = {
        f"{table.name}.{column.name}"
        for table in metadata.tables.values()
        for column in table.columns
        if any(key.column.table.name == "account" for key in column.foreign_keys) and column.name not in said.get(table.name, ())
    }
    return columns | (set(metadata.tables) - set(said) - set(NOT_ABOUT))


def test_every_table_is_told_of_or_left_out_with_a_reason() -> None:
    assert unnamed(Row.metadata) == set(), "say in store/queries/about.py what is hers in it, or why nothing is"
    assert set(NOT_ABOUT) <= set(TABLES)
    assert not set(NOT_ABOUT) & set(by_table())
    assert all(len(reason.split()) >= 4 for reason in NOT_ABOUT.values())


def test_a_new_table_that_names_an_account_is_found() -> None:
    planted = MetaData()
    Table("account", planted, Column("id", Integer, primary_key=True))
    Table("diary", planted, Column("id", Integer, primary_key=True), Column("by_whom", ForeignKey("account.id")))
    Table("weather", planted, Column("id", Integer, primary_key=True))
    assert unnamed(planted) == {"diary.by_whom", "diary", "weather"}


def test_every_table_about_her_stands_under_one_heading_of_the_page() -> None:
    told = [table for subject in SUBJECTS for table in subject.tables]
    assert sorted(told) == sorted(by_table())


@pytest.mark.parametrize("one", ABOUT, ids=lambda one: f"{one.table.name} by {'-'.join(one.columns)}")
def test_what_goes_may_go_and_what_stays_may_lose_its_name(one: object) -> None:
    assert one.at_end in {GO, NAMELESS, PICTURES}
    assert set(one.columns) | set(one.but) <= set(one.table.columns.keys())
    if one.at_end == NAMELESS:
        assert all(one.table.c[column].nullable for column in one.columns)


def test_no_secret_and_no_hash_of_one_leaves_in_an_export() -> None:
    left_out = {(one.table.name, column) for one in ABOUT for column in one.but}
    secret = {(name, column) for name in by_table() for column in COLUMNS[name] if column.endswith("_hash")}
    assert secret <= left_out
    assert ("account", "passphrase_hash") in secret


def test_what_is_looked_up_says_nothing_of_people() -> None:
    for name, columns in LOOKED_UP.items():
        assert all(key.column.table is not AccountRow.__table__ for column in columns for key in TABLES[name].c[column].foreign_keys)


def test_whatever_holds_a_picture_fast_is_looked_at_before_its_row_goes() -> None:
    looked_at = {f"{column.class_.__tablename__}.{column.key}" for column in NAMED_BY} | {
        "catalogue_picture.picture_id",
        "label_change.picture_id",
    }
    fast = {
        f"{table.name}.{column.name}"
        for table in TABLES.values()
        for column in table.columns
        for key in column.foreign_keys
        if key.column.table.name == "picture" and key.ondelete == "RESTRICT"
    }
    assert fast == looked_at

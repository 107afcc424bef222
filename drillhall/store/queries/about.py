"""Which rows of which table are about one person, which of them go with her, and why the other tables hold nothing of anybody."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from sqlalchemy import ColumnElement, Table, false, func, or_, select
from sqlalchemy.orm import Session

from drillhall.store.base import Row
from drillhall.store.models.catalogue import CatalogueChangeRow, CataloguePictureRow, StewardRow, TakenSetRow
from drillhall.store.models.field_tests import FieldTestExtraRow, FieldTestRow, SittingItemRow, SittingRow
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.in_words import DescriptionRow, WordDrillRow
from drillhall.store.models.joins import ConceptJoinNoticeRow, ConceptJoinRow
from drillhall.store.models.people import (
    AccountRow,
    AuditRow,
    InvitationRow,
    OneTimeLinkRow,
    PasskeyRow,
    SecondStepRow,
    SignInRow,
    SpareCodeRow,
)
from drillhall.store.models.pictures import (
    FileRow,
    LabelChangeRow,
    MarkRow,
    PictureOfferRow,
    PictureRow,
    PicturesApartRow,
    PictureShareRow,
    RightsRow,
)
from drillhall.store.models.post import AddressRow, LetterRow, SubscriptionRow
from drillhall.store.models.practice import (
    AnswerRow,
    BesideTallyRow,
    DrillRow,
    FittingRow,
    MemoryRow,
    ParameterSetRow,
    PromptTallyRow,
    RoundRow,
    ShowingRow,
    SightRow,
    TallyRow,
    TallyYearRow,
)
from drillhall.store.models.rarity import RarityDrillRow, RarityShowingRow
from drillhall.store.models.rosters import GivenPassphraseRow, RosterDraftRow, RosterPlaceRow
from drillhall.store.models.seasons import AssignmentRow, CalendarLinkRow, OutingRow, SeasonEntryRow

Whose = Callable[[int], ColumnElement[bool]]
GO: Final = "go"
NAMELESS: Final = "nameless"
PICTURES: Final = "pictures"


@dataclass(frozen=True, slots=True)
class About:
    """Rows of one table that are about a person.

    `columns` hold her id; without any, `whose` finds her rows through another table. `at_end`: GO (the rows are deleted with her),
    NAMELESS (they are of use to others and lose her id) or PICTURES (`pictures/erasing.py` sees to them). `but` are columns that
    an export leaves out: hashes of secrets, and what belongs to somebody else.
    """

    row: type[Row]
    columns: tuple[str, ...] = ("account_id",)
    at_end: str = GO
    but: tuple[str, ...] = ()
    whose: Whose | None = None

    @property
    def table(self) -> Table:
        """The table."""
        return self.row.metadata.tables[self.row.__tablename__]

    def is_about(self, account_id: int) -> ColumnElement[bool]:
        """Whether a row is about an account."""
        if self.whose is not None:
            return self.whose(account_id)
        return or_(false(), *(self.table.c[column] == account_id for column in self.columns))


def _of_her_pictures(row: type[PictureOwned]) -> Whose:
    return lambda account_id: row.picture_id.in_(select(PictureRow.id).where(PictureRow.owner_id == account_id))


def _of_her_sittings(account_id: int) -> ColumnElement[bool]:
    return SittingItemRow.sitting_id.in_(select(SittingRow.id).where(SittingRow.account_id == account_id))


def _at_her_address(account_id: int) -> ColumnElement[bool]:
    # One that is not confirmed may be anybody's.
    hers = select(AddressRow.address).where(AddressRow.account_id == account_id, AddressRow.confirmed_at.is_not(None))
    return SubscriptionRow.address.in_(hers)


def _lists_of_hers(account_id: int) -> ColumnElement[bool]:
    # A new list that waits to be confirmed tells the names of all in its class, of her who joined by a link or left as well.
    listed = select(RosterPlaceRow.group_id).where(RosterPlaceRow.account_id == account_id)
    joined = select(MembershipRow.group_id).where(MembershipRow.account_id == account_id)
    return or_(RosterDraftRow.made_by == account_id, RosterDraftRow.group_id.in_(listed.union(joined)))


def _letters_to_her(account_id: int) -> ColumnElement[bool]:
    of_hers = LetterRow.subscription_id.in_(select(SubscriptionRow.id).where(_at_her_address(account_id)))
    return or_(LetterRow.account_id == account_id, of_hers)


def names_her(account_id: int) -> ColumnElement[bool]:
    """Whether a line of the audit log tells of an act on an account: its subject lists things by a word and their number."""
    name, subject = f"account {account_id}", AuditRow.subject
    return or_(subject == name, subject.like(f"%, {name}"), subject.like(f"{name}, %"), subject.like(f"%, {name}, %"))


def _in_the_log(account_id: int) -> ColumnElement[bool]:
    return or_(AuditRow.account_id == account_id, names_her(account_id))


PictureOwned = RightsRow | FileRow | MarkRow | PictureShareRow | PictureOfferRow | CataloguePictureRow | LabelChangeRow

ABOUT: Final[tuple[About, ...]] = (
    About(AccountRow, ("id",), but=("passphrase_hash",)),
    About(SignInRow, but=("token_hash",)),
    About(SecondStepRow, but=("salt",)),
    About(SpareCodeRow, but=("handle", "code_hash")),
    About(PasskeyRow, but=("user_handle",)),
    About(OneTimeLinkRow, but=("token_hash",)),
    About(InvitationRow, ("made_by",), but=("token_hash", "code_hash")),
    About(AuditRow, ("account_id",), NAMELESS, whose=_in_the_log),
    About(AddressRow, but=("public_id",)),
    About(SubscriptionRow, (), but=("public_id",), whose=_at_her_address),
    About(LetterRow, but=("unsubscribe", "message_id"), whose=_letters_to_her),
    About(MembershipRow),
    About(RosterDraftRow, ("made_by",), but=("entries",), whose=_lists_of_hers),
    About(RosterPlaceRow),
    About(GivenPassphraseRow),
    About(GivenPassphraseRow, ("given_by",), NAMELESS),
    About(CalendarLinkRow, but=("token_hash",)),
    About(StewardRow),
    About(TakenSetRow),
    About(DrillRow),
    About(RoundRow),
    About(ShowingRow),
    About(AnswerRow),
    About(MemoryRow),
    About(TallyRow),
    About(TallyYearRow),
    About(PromptTallyRow),
    About(BesideTallyRow),
    About(SightRow),
    About(ParameterSetRow),
    About(FittingRow),
    About(ConceptJoinNoticeRow),
    About(RarityDrillRow),
    About(RarityShowingRow),
    About(WordDrillRow),
    About(DescriptionRow),
    About(SittingRow),
    About(SittingItemRow, (), whose=_of_her_sittings),
    About(FieldTestExtraRow),
    About(PictureRow, ("owner_id",), PICTURES),
    About(RightsRow, (), PICTURES, whose=_of_her_pictures(RightsRow)),
    About(FileRow, (), PICTURES, ("storage_key",), _of_her_pictures(FileRow)),
    About(MarkRow, (), PICTURES, whose=_of_her_pictures(MarkRow)),
    About(PictureShareRow, (), PICTURES, whose=_of_her_pictures(PictureShareRow)),
    About(PictureOfferRow, (), PICTURES, whose=_of_her_pictures(PictureOfferRow)),
    About(PictureOfferRow, ("decided_by",), NAMELESS),
    About(CataloguePictureRow, (), PICTURES, ("extra",), _of_her_pictures(CataloguePictureRow)),
    About(CataloguePictureRow, ("accepted_by", "checked_by"), NAMELESS, ("extra",)),
    About(LabelChangeRow, (), PICTURES, whose=_of_her_pictures(LabelChangeRow)),
    About(LabelChangeRow, ("by_id", "undone_by"), NAMELESS),
    About(PicturesApartRow, ("said_by",), NAMELESS),
    About(ConceptJoinRow, ("by_id",), NAMELESS),
    About(CatalogueChangeRow, at_end=NAMELESS),
    About(AssignmentRow, ("made_by",), NAMELESS),
    About(OutingRow, ("made_by",), NAMELESS),
    About(SeasonEntryRow, ("made_by",), NAMELESS),
    About(FieldTestRow, ("made_by",), NAMELESS),
)
"""Every table that holds something about a person; a table may stand here twice, where she is in it in two ways."""

_SAID = "What catalogues say of forms and pairs, whoever said it: who changed what stands in catalogue_change."
_NAMES = "Names and bounds of what is drilled; nobody's."
_ASKED = "What a test asks, the same for everybody."
_SUMS = "Counts of answers by nobody in particular."

NOT_ABOUT: Final[Mapping[str, str]] = MappingProxyType(
    {
        **dict.fromkeys(("catalogue", "catalogue_form", "catalogue_pair", "trait", "state", "form_trait", "third"), _SAID),
        **dict.fromkeys(("form_measure", "pair_set", "stage", "stage_pair", "concept_mapping", "concept_join_move"), _SAID),
        **dict.fromkeys(("concept", "name", "vernacular", "form", "pair"), _NAMES),
        **dict.fromkeys(("field_test_pair", "field_test_question"), _ASKED),
        **dict.fromkeys(("hall_rate", "open_answer", "recalibration"), _SUMS),
        "open_question": "What a group asks openly, whoever asked; no answer in it is anybody's.",
        "open_day": "Which picture was asked about on a day.",
        "group": "The group itself; who is in it stands in membership.",
        "attempt": "Tries are counted under a hash, and forgotten after two days.",
        "setting": "What the whole hall has set.",
        "recalibration": "Two numbers fitted to everybody's rounds together.",
        "job": "What the hall does again and again, and when.",
    }
)
"""Every other table, and why it holds nothing about anybody."""

LOOKED_UP: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "pair": ("id", "first_form_id", "second_form_id"),
        "form": ("id", "concept_id", "sex", "life_stage", "plumage", "variant"),
        "concept": ("id", "taxon_concept_id"),
        "name": ("concept_id", "according_to", "scientific_name", "taxon_rank"),
        "vernacular": ("concept_id", "language", "name"),
        "catalogue": ("id", "key", "title"),
        "pair_set": ("id", "catalogue_id", "key", "title"),
        "group": ("id", "title", "kind"),
        "field_test": ("id", "group_id", "title"),
    }
)
"""Tables from which an export tells what the numbers in it mean, in this order, and what of them."""


def by_table() -> dict[str, list[About]]:
    """Return what is about a person by table, in the order of ABOUT."""
    found: dict[str, list[About]] = {}
    for one in ABOUT:
        found.setdefault(one.table.name, []).append(one)
    return found


def is_about_her(table: str, account_id: int) -> ColumnElement[bool]:
    """Whether a row of a table is about an account, in whichever way."""
    return or_(false(), *(one.is_about(account_id) for one in by_table()[table]))


def count_about(db: Session, account_id: int) -> dict[str, int]:
    """Return how many rows of each table are about an account; one statement."""
    tables = {name: entries[0].table for name, entries in by_table().items()}
    counts = [
        select(func.count()).select_from(table).where(is_about_her(name, account_id)).scalar_subquery().label(name)
        for name, table in tables.items()
    ]
    row = db.execute(select(*counts)).one()
    return {name: int(row[place]) for place, name in enumerate(tables)}

"""The words we use when something is wrong.

    DrillhallError                what the hall says, whoever hears it
      NotFound                    no such thing, or not visible to you
      NotAllowed                  you may see it, you may not do this to it
      Invalid                     a field is wrong; names it and says how to mend it
        BadAnswer  BadPicture  BadRights  BadImport  BadRoster
      Conflict                    it does not go with how things stand, or the name is taken
        NameTaken  Overtaken  AlreadyDone
      TooMany                     tried too often; says when to try again
      Unavailable                 the database is busy, away, or newer than this program

Each error carries one sentence for the person: what is wrong, which thing, what to do.
"""


class DrillhallError(Exception):
    """Anything the hall refuses, with one sentence for the person."""

    @property
    def sentence(self) -> str:
        """The sentence to show."""
        # `str` of an error would lose by what the sentence is told in other languages.
        said = self.args[0] if self.args else ""
        return said if isinstance(said, str) else str(said)


class NotFound(DrillhallError):
    """There is no such thing, or it is not visible to whoever asks."""


class NotAllowed(DrillhallError):
    """Whoever asks may see the thing and may not do this to it."""


class Invalid(DrillhallError):
    """A value is wrong: `field` names it, the sentence says how to mend it."""

    def __init__(self, sentence: str, *, field: str = "") -> None:
        super().__init__(sentence)
        self.field = field


class BadAnswer(Invalid):
    """An answer that cannot be stored."""


class BadPicture(Invalid):
    """A file that is no picture, or one that the hall cannot take."""


class BadRights(Invalid):
    """Rights that are missing or contradict each other."""


class BadImport(Invalid):
    """A catalogue folder with faults; `faults` lists every one of them."""

    def __init__(self, sentence: str, *, faults: tuple[str, ...] = ()) -> None:
        super().__init__(sentence, field="folder")
        self.faults = faults


class BadRoster(Invalid):
    """The list of a class with faults; `faults` lists every one of them, by row and field."""

    def __init__(self, sentence: str, *, faults: tuple[str, ...] = ()) -> None:
        super().__init__(sentence, field="list")
        self.faults = faults


class Conflict(DrillhallError):
    """It does not go with how things stand now."""


class NameTaken(Conflict):
    """The name belongs to somebody else already."""


class Overtaken(Conflict):
    """Somebody else changed the same thing at the same moment."""


class AlreadyDone(Conflict):
    """What is asked for is so already."""


class TooMany(DrillhallError):
    """Tried too often; `wait_seconds` says how long to wait."""

    def __init__(self, sentence: str, *, wait_seconds: int) -> None:
        super().__init__(sentence)
        self.wait_seconds = wait_seconds


class Unavailable(DrillhallError):
    """The database is busy, away, or newer than this program."""

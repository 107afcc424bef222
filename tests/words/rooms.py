"""Which room of the house a file belongs to: each room has a PO file of its own in every language, so that several can write at once."""

from __future__ import annotations

from pathlib import Path
from typing import Final

TOP: Final = Path(__file__).resolve().parent.parent.parent

_SILENT: Final = (
    "drillhall/cli/",
    "drillhall/demo/",
    "drillhall/store/archive.py",
    "drillhall/store/dumping.py",
    "drillhall/store/migrating.py",
    "drillhall/store/rewriting.py",
    "drillhall/words/",
    "drillhall/errors.py",
    "drillhall/acts/examine.py",
)
"""What speaks English alone: the terminal, the logs, the examination of a hall, and the demo's drawings."""

_RENAMED: Final = {"account_privacy": "account", "open_questions": "open"}


def room_of(path: str) -> str:
    """Return the room of a file, told from the top of the tree; empty for what says nothing to a reader or English alone."""
    parts = Path(path).with_suffix("").parts
    if path.startswith(_SILENT):
        return ""
    if parts[0] == "static":
        return "js"
    if parts[0] == "templates":
        room = parts[1] if len(parts) > 2 else "web"
    elif parts[1] == "web":
        room = parts[2] if len(parts) > 3 or parts[2] in {"account", "keeper", "offline"} else "web"
    elif parts[1] == "practice" and len(parts) > 3 and parts[2] not in {"reports", "exports"}:
        room = parts[2]
    else:
        room = parts[1]
    return _RENAMED.get(room, room)


def speaking_files() -> list[str]:
    """Return the paths of all files that may say something: templates, Python, scripts; in order."""
    found = [*TOP.glob("templates/**/*.html"), *TOP.glob("drillhall/**/*.py"), *TOP.glob("static/js/**/*.js")]
    paths = sorted(path.relative_to(TOP).as_posix() for path in found)
    return [path for path in paths if path.count("/") > 1 or not path.endswith("__.py") if room_of(path)]


def all_rooms() -> list[str]:
    """Return the names of all rooms, in order."""
    return sorted({room_of(path) for path in speaking_files()})

"""`python -m tests.words`: update the catalogues of rooms, list what is to be translated, check them."""

from __future__ import annotations

import sys

from tests.words.checking import problems_of, untranslated
from tests.words.extracting import NotWrittenOut, spoken_by_room
from tests.words.po_files import forms_of, read_room, translated_languages, update_room
from tests.words.rooms import TOP, all_rooms, room_of, speaking_files
from tests.words.unmarked import loses_what_is_said, unmarked_errors, unmarked_in_template

USAGE = """python -m tests.words update [ROOM...]    write what the rooms say into their PO files, and keep what is translated
python -m tests.words todo [ROOM...]      list what is not translated
python -m tests.words unmarked [ROOM...]  list words that stand in templates and errors without being said
python -m tests.words check               list what is wrong
python -m tests.words rooms               list the rooms"""


def main(asked: str, *rooms: str) -> int:
    """Do what is asked for some rooms, or for all; returns what the shell is told."""
    if unknown := set(rooms) - set(all_rooms()):
        print(f"There is no room {', '.join(sorted(unknown))}. Rooms: {', '.join(all_rooms())}.")
        return 2
    acts = {"update": _update, "todo": _todo, "unmarked": lambda wanted: _tell(bare_words(wanted)), "check": _check, "rooms": _rooms}
    if asked not in acts:
        print(USAGE)
        return 2
    try:
        return acts[asked](list(rooms) or all_rooms())
    except NotWrittenOut as error:
        print(error)
        return 1


def _update(rooms: list[str]) -> int:
    spoken = spoken_by_room()
    for language in translated_languages():
        elsewhere = {key: one for room in all_rooms() for key, one in read_room(language, room).items() if any(forms_of(one))}
        for room in rooms:
            update_room(language, room, spoken.get(room, []), elsewhere)
    return _todo(rooms)


def _todo(rooms: list[str]) -> int:
    spoken = spoken_by_room()
    for language in translated_languages():
        for room in rooms:
            for what in untranslated(language, room, spoken.get(room, [])):
                print(f"{language}/{room}: {what}")
    return 0


def _check(_rooms: list[str]) -> int:
    spoken = spoken_by_room()
    return _tell([what for language in translated_languages() for what in problems_of(language, spoken)])


def _rooms(rooms: list[str]) -> int:
    print("\n".join(rooms))
    return 0


def bare_words(rooms: list[str]) -> list[str]:
    """Return the words of rooms that are not said through the catalogue, by file and line."""
    found = []
    for path in speaking_files():
        if room_of(path) in rooms and not path.endswith(".js"):
            text = (TOP / path).read_text(encoding="utf-8")
            rules = (unmarked_in_template,) if path.endswith(".html") else (unmarked_errors, loses_what_is_said)
            found += [f"{path}:{line}: {what}" for rule in rules for line, what in rule(text)]
    return found


def _tell(found: list[str]) -> int:
    print("\n".join(found) or "Nothing.")
    return bool(found)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:] or [""]))

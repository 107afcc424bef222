"""What any storage of pictures must keep to; whoever writes one runs these on it, see `TestFolderStorage`."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

from drillhall.errors import NotFound
from drillhall.pictures.storage import Storage

BAD_KEYS = (
    "",
    "/etc/passwd",
    "../x",
    "ab/../../x",
    "ab//x",
    "ab/.x",
    "AB/x",
    "ab/x.webp/..",
    "ab\\x",
    "c:x",
    "ab/x\0",
    "ab/x\n",
    "a" * 121,
)


class StorageContract:
    """The four methods, and what they refuse."""

    def test_what_is_put_is_got_back_whatever_it_is(self, storage: Storage) -> None:
        for key, content in (("ab/one/x.webp", b""), ("ab/one/original.jpg", bytes(range(256)) * 5000), ("x", b"-")):
            storage.put(key, content)
            assert storage.get(key) == content

    def test_what_is_put_again_replaces_what_was_there(self, storage: Storage) -> None:
        storage.put("ab/one/x.webp", b"the first, which is longer")
        storage.put("ab/one/x.webp", b"second")
        assert storage.get("ab/one/x.webp") == b"second"
        assert list(storage.keys()) == ["ab/one/x.webp"]

    def test_what_is_not_there_is_said_so(self, storage: Storage) -> None:
        storage.put("ab/one/x.webp", b"-")
        storage.put("x", b"-")
        for key in ("ab/one/y.webp", "ab/one", "x/y", "cd/x"):
            with pytest.raises(NotFound):
                storage.get(key)

    def test_what_is_deleted_is_gone_and_deleting_twice_is_no_error(self, storage: Storage) -> None:
        storage.put("ab/one/x.webp", b"-")
        storage.put("ab/one/y.webp", b"-")
        storage.delete("ab/one/x.webp")
        storage.delete("ab/one/x.webp")
        with pytest.raises(NotFound):
            storage.get("ab/one/x.webp")
        assert list(storage.keys()) == ["ab/one/y.webp"]
        storage.put("ab/one/x.webp", b"again")
        assert storage.get("ab/one/x.webp") == b"again"

    def test_keys_come_in_order_and_by_any_prefix(self, storage: Storage) -> None:
        assert list(storage.keys()) == []
        for key in ("ab/two/x.webp", "ab/one/x.webp", "abc/one/x.webp", "cd/one/x.webp"):
            storage.put(key, b"-")
        assert list(storage.keys()) == ["ab/one/x.webp", "ab/two/x.webp", "abc/one/x.webp", "cd/one/x.webp"]
        assert list(storage.keys("ab/")) == ["ab/one/x.webp", "ab/two/x.webp"]
        assert list(storage.keys("ab/o")) == ["ab/one/x.webp"]
        assert list(storage.keys("zz/")) == []

    def test_files_may_be_put_and_deleted_while_keys_are_listed(self, storage: Storage) -> None:
        for number in range(5):
            storage.put(f"ab/{number}/x.webp", b"-")
        listed = []
        for key in storage.keys("ab/"):
            storage.delete(key)
            listed.append(key)
        assert (len(listed), list(storage.keys())) == (5, [])

    def test_of_two_that_put_at_once_one_wins_whole(self, storage: Storage) -> None:
        contents = [bytes([number]) * 100_000 for number in range(16)]
        with ThreadPoolExecutor(8) as pool:
            list(pool.map(lambda content: storage.put("ab/one/x.webp", content), contents))
        assert storage.get("ab/one/x.webp") in contents
        assert list(storage.keys()) == ["ab/one/x.webp"]

    @pytest.mark.parametrize("key", BAD_KEYS)
    def test_a_key_that_leads_elsewhere_is_refused(self, storage: Storage, key: str) -> None:
        for act in (lambda: storage.put(key, b"-"), lambda: storage.get(key), lambda: storage.delete(key)):
            with pytest.raises(ValueError, match="not a key"):
                act()
        assert list(storage.keys()) == []

    def test_a_prefix_that_leads_elsewhere_is_refused(self, storage: Storage) -> None:
        with pytest.raises(ValueError, match="not the beginning"):
            list(storage.keys("../"))

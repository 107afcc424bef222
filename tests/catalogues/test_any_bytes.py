"""Whatever bytes lie in a folder, they are told as faults, and nothing breaks."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.errors import BadImport
from tests.catalogues import folders
from tests.catalogues.folders import CATALOGUE, ROW, SETS

CSV = folders.table([{**ROW, "marks": "bill 0 0 1 1", "typical": "no", "CreateDate": "2031-05-17", "subjectOrientation": "left"}])


def damaged(text: str) -> st.SearchStrategy[bytes]:
    """Cut a piece out of a text and put another in its place."""
    raw = text.encode()
    pieces = st.one_of(
        st.binary(max_size=4), st.sampled_from([b"", b'"', b"[", b"]]", b"=", b",", b"\n", b"1", b"{}", b"[]", b"nan", b"true", b"''"])
    )
    cuts = st.tuples(st.integers(0, len(raw)), st.integers(0, 12), pieces)
    return cuts.map(lambda cut: raw[: cut[0]] + cut[2] + raw[cut[0] + cut[1] :])


@given(catalogue=damaged(CATALOGUE), sets=damaged(SETS), rows=damaged(CSV))
@settings(max_examples=150, deadline=None)
def test_damaged_files_are_told(catalogue: bytes, sets: bytes, rows: bytes) -> None:
    with TemporaryDirectory() as place:
        report = folders.report(folders.write(Path(place), catalogue=catalogue, sets=sets, csv_text=rows, files={"a.jpg": b"a"}))
        assert all(fault.where and fault.wrong and fault.mend for fault in report.faults)


@given(data=st.data())
@settings(max_examples=100, deadline=None)
def test_damaged_zips_are_told_or_refused(data: st.DataObject) -> None:
    with TemporaryDirectory() as place:
        packed = folders.pack(folders.write(Path(place) / "in"), Path(place) / "m.zip", top="in/")
        raw = packed.read_bytes()
        at, gone = data.draw(st.integers(0, len(raw))), data.draw(st.integers(0, 8))
        packed.write_bytes(raw[:at] + data.draw(st.binary(max_size=8)) + raw[at + gone :])
        with suppress(BadImport):  # any other error is a fault of ours
            folders.report(packed)

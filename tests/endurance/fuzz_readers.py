"""Every reader against bytes by chance and files changed by a careless hand: it reads them or tells why not.

::

    .venv/bin/python -m tests.endurance.fuzz_readers --minutes 10

takes each reader for so many minutes and prints how many files it was given. `tests/property/test_every_reader.py` does
the same with a few.
"""

from __future__ import annotations

import argparse
import io
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path

import numpy as np
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from valuation import service
from valuation.batch.pianos import find_pianos
from valuation.errors import UserError
from valuation.measure.sound import Refused
from valuation.measure.sound.recording import read_recording
from valuation.paper.photos import ready_to_print
from valuation.readings.read_scale import read_scale
from valuation.rules.kept_tables import FILES
from valuation.rules.load import PACKAGED, load_tables
from valuation.service.papers import read_shop
from valuation.service.past import read_past
from valuation.service.sales import parse_index_bytes, read_sales_bytes
from valuation.store.locked import lock, unlock
from valuation.store.pictures import NoPhoto, make_picture, size_of_kept
from valuation.store.zip_in import opened
from valuation.walk.sent import AskedWrongly, read_entries

ROOT = Path(__file__).parents[2]
TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)


@dataclass(frozen=True)
class Reader:
    """A reader of files, files that it reads well, and what it raises of others: a fault that a person can mend."""

    read: Callable[[bytes], object]
    whole: Callable[[], list[bytes]]
    refuses: type[Exception] = UserError


@cache
def _tables():
    return service.load_shop()


@cache
def _folder() -> Path:
    return Path(tempfile.mkdtemp(prefix="fuzzed"))


def _in_a_file(ending: str, read: Callable[[Path], object]) -> Callable[[bytes], object]:
    def of_bytes(data: bytes) -> object:
        path = _folder() / f"given{ending}"
        path.write_bytes(data)
        return read(path)

    return of_bytes


def _export(path: Path) -> None:
    with opened(path) as file:
        for name in file.visits:
            file.visit(name)


def _exports() -> list[bytes]:
    from valuation.service.visits import open_shop

    shop = open_shop({"VALUATION_DATA": str(_folder() / "store"), "DATABASE_URL": ""}, TODAY)
    try:
        shop.export_zip(_folder() / "shop.zip", now=NOW)
    finally:
        shop.close()
    return [(_folder() / "shop.zip").read_bytes()]


_PASSPHRASE = "a passphrase of tests"


def _unlocked(path: Path) -> None:
    unlock(path, path.with_suffix(".zip"), _PASSPHRASE)


def _locked() -> list[bytes]:
    [whole] = _exports()
    (_folder() / "whole.zip").write_bytes(whole)
    lock(_folder() / "whole.zip", _folder() / "whole.locked", _PASSPHRASE)
    return [(_folder() / "whole.locked").read_bytes()]


def _workbooks() -> list[bytes]:
    from valuation.sales import to_bytes

    read = read_sales_bytes((ROOT / "data_demo" / "sales" / "sales.csv").read_bytes(), "s.csv", _tables(), TODAY)
    return [to_bytes(read.sales[:20], ".xlsx")]


def _pictures() -> list[bytes]:
    image = Image.linear_gradient("L").resize((48, 40)).convert("RGB")
    made = []
    for kind in ("JPEG", "PNG", "WEBP", "AVIF", "HEIF"):
        image.save(out := io.BytesIO(), kind)
        made.append(out.getvalue())
    return made


def _sounds() -> list[bytes]:
    tone = np.sin(np.arange(8000) / 3).astype(np.float32)
    made = []
    for kind in ("WAV", "FLAC"):
        soundfile.write(out := io.BytesIO(), tone, 8000, format=kind)
        made.append(out.getvalue())
    return made


def _demo(*names: str) -> Callable[[], list[bytes]]:
    return lambda: [(ROOT / "data_demo" / name).read_bytes() for name in names]


def _table_file(data: bytes) -> object:
    folder = _folder() / "tables"
    if not folder.exists():
        folder.mkdir()
        for name in FILES:
            (folder / name).write_bytes((PACKAGED / name).read_bytes())
    (folder / "checks.csv").write_bytes(data)
    return load_tables(folder)


READERS = {
    "visit file": Reader(
        lambda data: service.read_visit_bytes(data, "x.toml", _tables(), TODAY),
        _demo("visits/6_heirloom.toml", "visits/3_school_upright.toml"),
    ),
    "workshop": Reader(_in_a_file(".toml", read_shop), _demo("shop.toml")),
    "sales as CSV": Reader(lambda data: read_sales_bytes(data, "x.csv", _tables(), TODAY), _demo("sales/sales.csv")),
    "sales as a workbook": Reader(lambda data: read_sales_bytes(data, "x.xlsx", _tables(), TODAY), _workbooks),
    "price index": Reader(lambda data: parse_index_bytes(data, "x.csv"), _demo("sales/price_index.csv")),
    "pianos of a batch": Reader(
        _in_a_file(".csv", lambda path: list(find_pianos([path], _tables())[0])),
        lambda: [b"title,date,kind,year\nParlour,2026-05-04,grand,1912\nHall,2026-05-05,upright,\n"],
    ),
    "scale": Reader(
        lambda data: read_scale(data, "x.csv", "american"),
        lambda: [b"key,length_mm,wire,outside_mm,strings\nA4,400,0.975 mm,,3\n50,7 1/8 in,16,,3\n"],
    ),
    "table of checks": Reader(_table_file, lambda: [(PACKAGED / "checks.csv").read_bytes()]),
    "photo": Reader(make_picture, _pictures, NoPhoto),
    "kept photo": Reader(size_of_kept, _pictures, NoPhoto),
    "photo for print": Reader(ready_to_print, _pictures, NoPhoto),
    "recording": Reader(lambda data: read_recording(io.BytesIO(data)), _sounds, Refused),
    "export": Reader(_in_a_file(".zip", _export), _exports),
    "locked export": Reader(_in_a_file(".locked", _unlocked), _locked),
    "old jobs as CSV": Reader(
        lambda data: read_past(data, "x.csv"),
        lambda: [b"Name;Telefon;Tag;Preis\nMeier;0123;12.3.2019;1.200,50\nHuber;;2018-04-05;800\n"],
    ),
    "old jobs as a workbook": Reader(lambda data: read_past(data, "x.xlsx"), _workbooks),
    "what a phone sends": Reader(
        read_entries,
        lambda: [
            b'{"api": 1, "device": "phone", "now": "2026-12-01T10:00:00+00:00", "since": 0, "entries": [{"id": '
            b'"0123456789abcdef0123456789abcdef", "at": "2026-12-01T10:00:00+00:00", "field": "finding.plate_crack", '
            b'"value": {"grade": "none"}, "follows": [], "undoes": ""}]}'
        ],
        AskedWrongly,
    ),
}
"""Name -> every reader of what comes from outside."""

_PIECES = st.binary(max_size=8) | st.sampled_from(
    [
        *(b"\0", b"\xff" * 4, b"\xed\xa0\x80", b'"', b",", b";", b"\r", b"\n", b"=1+1", b"9999-12-31", b"1e999"),
        *(b"nan", b"-1", b"[", b"{", b"'''", b"\xef\xbb\xbf", b"\xff\xfe", b"PK\x03\x04", b"9" * 400, b"A" * 3000),
    ]
)


@st.composite
def files(draw: st.DrawFn, whole: list[bytes]) -> bytes:
    """Bytes by chance; or a whole file with some stretches replaced, doubled or cut off."""
    if draw(st.integers(0, 9)) == 0:
        return draw(st.binary(max_size=300))
    data = draw(st.sampled_from(whole))
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(data)))
        end = min(len(data), start + draw(st.sampled_from([0, 0, 1, 1, 2, 4, 30, 1000])))
        match draw(st.integers(0, 5)):
            case 0:
                data = data[:start]
            case 1:
                data = data[:end] + data[start:]
            case _:
                data = data[:start] + draw(_PIECES) + data[end:]
    return data


def try_reader(name: str, examples: int) -> int:
    """Give a reader so many files, and return how many it was given; whatever else it raises comes out."""
    reader, tried = READERS[name], 0
    whole = reader.whole()
    for data in whole:
        reader.read(data) if name != "kept photo" else None  # a whole file is read

    @settings(max_examples=examples, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(files(whole))
    def give(data: bytes) -> None:
        nonlocal tried
        tried += 1
        try:
            reader.read(data)
        except reader.refuses as told:
            assert str(told).strip()  # noqa: PT017  (either way is right; nothing else may be raised)
            str(told).encode()

    give()
    return tried


def rounds(minutes: float) -> Iterator[tuple[str, int]]:
    """Take each reader for so many minutes, and yield how many files it was given."""
    for name in READERS:
        end, tried = time.monotonic() + 60 * minutes, 0
        while time.monotonic() < end:
            tried += try_reader(name, 500)
        yield name, tried


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Every reader against files changed by a careless hand.")
    parser.add_argument("--minutes", type=float, default=10, help="For each reader.")
    for reader_name, count in rounds(parser.parse_args().minutes):
        print(f"{reader_name:24} {count:8,} files", flush=True)

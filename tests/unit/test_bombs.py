"""Small files that unfold to huge ones: refused soon, and without filling the memory.

Each is read in a process of its own, which may take 200 MB beyond what it had after loading. How long it takes, 2 s at
most, is printed by ``python -m tests.benchmark.bench_bombs``.
"""

from __future__ import annotations

import hashlib
import io
import json
import subprocess
import sys
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from PIL import Image

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="memory is measured as Linux tells it")

ROOT = Path(__file__).parents[2]
MEMORY = 200_000_000

READ = """
import resource, sys
from datetime import date
from pathlib import Path
{load}
from valuation.errors import UserError

def held(what):
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) * 1024 for line in lines if line.startswith(what))

path = Path(sys.argv[1])
Path("/proc/self/clear_refs").write_text("5")  # the most that was held is counted anew
memory, time = held("VmRSS"), resource.getrusage(resource.RUSAGE_SELF)
try:
    {read}
except ({refused}) as error:
    told = str(error)
else:
    told = "READ"
after = resource.getrusage(resource.RUSAGE_SELF)
print(held("VmHWM") - memory, after.ru_utime + after.ru_stime - time.ru_utime - time.ru_stime)
print(told)
"""
WORKBOOK = ("from valuation.sales.sheets import read_sheet", "read_sheet(path)", "UserError")
PHOTO = ("from valuation.store.pictures import make_picture, NoPhoto", "make_picture(path.read_bytes())", "NoPhoto")
PRINTED = (
    "from valuation.paper.photos import ready_to_print\nfrom PIL import Image",
    "assert ready_to_print(path.read_bytes()), 'it is no picture to be printed'",
    "AssertionError",
)
EXPORT = (
    "from valuation.store.zip_in import opened",
    "opened(path).__enter__()",
    "UserError",
)
SOUND = (
    "from valuation.measure.sound.recording import read_recording\nfrom valuation.measure.sound import Refused",
    "read_recording(path)",
    "Refused",
)
VISIT = (
    "from valuation import service\ntables = service.load_shop()",
    "service.read_visit_file(path, tables, date(2026, 12, 1))",
    "UserError",
)
PIANOS = (
    "from valuation import service\nfrom valuation.batch.pianos import find_pianos\ntables = service.load_shop()",
    "list(find_pianos([path], tables)[0])",
    "UserError",
)


def workbook(sheet: Callable[[], bytes], **parts: bytes) -> bytes:
    """A workbook with one sheet made by hand; other parts by name, ``__`` for the slash and ``_DOT_`` for the point."""
    import openpyxl

    plain = io.BytesIO()
    openpyxl.Workbook().save(plain)
    made = io.BytesIO()
    replaced = {name.replace("__", "/").replace("_DOT_", "."): data for name, data in parts.items()}
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "xl/worksheets/sheet1.xml":
                data = sheet()
            new.writestr(name, replaced.pop(name, data))
        for name, data in replaced.items():
            new.writestr(name, data)
    return made.getvalue()


def sheet(rows: bytes) -> bytes:
    main = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return b'<?xml version="1.0"?><worksheet xmlns="' + main + b'"><sheetData>' + rows + b"</sheetData></worksheet>"


def png(width: int, height: int, colours: int, bits: int = 8) -> bytes:
    """A picture of one colour, written without ever being held: some hundred bytes for each million pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4, "big") + kind + data + zlib.crc32(kind + data).to_bytes(4, "big")

    kind = {1: 0, 3: 2, 4: 6}[colours]
    packer, row = zlib.compressobj(9), b"\0" * (1 + width * colours * bits // 8)
    data = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    head = width.to_bytes(4, "big") + height.to_bytes(4, "big") + bytes([bits, kind, 0, 0, 0])
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def progressive(side: int) -> bytes:
    made = io.BytesIO()
    Image.new("RGB", (side, side), "grey").save(made, "JPEG", progressive=True, quality=30)
    return made.getvalue()


def export(path: str, text: bytes) -> bytes:
    """An export with one file in it whose JSON unfolds to far more than it has."""
    content = {
        "manifest.json": json.dumps({"format": "piano visits of a workshop", "version": 2}).encode(),
        path: text,
    }
    sums = "".join(f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in content.items()).encode()
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in {**content, "checksums.sha256": sums}.items():
            file.writestr(name, data)
    return made.getvalue()


def flac(seconds: int, rate: int, channels: int) -> bytes:
    made = io.BytesIO()
    soundfile.write(made, np.zeros((seconds * rate, channels), np.int16), rate, format="FLAC")
    return made.getvalue()


BOMBS = {
    "rows that all bear one number": (WORKBOOK, "x.xlsx", lambda: workbook(lambda: sheet(b'<row r="1"/>' * 4_000_000))),
    "rows with a prefix": (WORKBOOK, "x.xlsx", lambda: workbook(lambda: sheet(b"<x:row/>" * 5_000_000))),
    "cells without end": (WORKBOOK, "x.xlsx", lambda: workbook(lambda: sheet(b"<row>" + b"<c/>" * 9_000_000))),
    "words without end": (
        WORKBOOK,
        "x.xlsx",
        lambda: workbook(lambda: sheet(b""), xl__sharedStrings_DOT_xml=b"<sst>" + b"<si><t/></si>" * 4_000_000),
    ),
    "one cell of a hundred million letters": (
        WORKBOOK,
        "x.xlsx",
        lambda: workbook(lambda: sheet(b"<row><c><v>" + b"1" * 100_000_000)),
    ),
    "entities that unfold": (
        WORKBOOK,
        "x.xlsx",
        lambda: workbook(lambda: b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">]>' + sheet(b"<row>&a;</row>")),
    ),
    "a picture of 79 million pixels": (PHOTO, "x.png", lambda: png(8900, 8900, 3)),
    "a picture of 45 million that can be seen through": (PHOTO, "x.png", lambda: png(6700, 6700, 4)),
    "a picture of 300 million pixels": (PHOTO, "x.png", lambda: png(17_400, 17_400, 1)),
    "a picture that comes in steps": (PHOTO, "x.jpg", lambda: progressive(6000)),
    "a picture of 59 million pixels on paper": (PRINTED, "x.png", lambda: png(7700, 7700, 3)),
    "a picture in steps on paper": (PRINTED, "x.jpg", lambda: progressive(6000)),
    "an export of lists": (
        EXPORT,
        "x.zip",
        lambda: export(f"visits/{'0' * 32}.json", b'{"entries":[' + b"[]," * 9_000_000 + b"[]]}"),
    ),
    "an export of words": (EXPORT, "x.zip", lambda: export("settings.json", b'{"a":[' + b'"ab",' * 5_000_000 + b"0]}")),
    "an export of brackets": (EXPORT, "x.zip", lambda: export("settings.json", b'{"a":' + b"[" * 29_000_000)),
    "an export of a million million bytes": (EXPORT, "x.zip", lambda: export("photos/" + "0" * 64, b"\0" * 60_000_000)),
    "a minute of eight channels": (SOUND, "x.flac", lambda: flac(60, 96_000, 8)),
    "an hour of silence": (SOUND, "x.flac", lambda: flac(600, 96_000, 1)),
    "a visit of one million brackets": (VISIT, "x.toml", lambda: b"a = " + b"[" * 900_000),
    "a visit of two million bytes": (VISIT, "x.toml", lambda: b"#" * 2_000_000),
    "a list in one line": (PIANOS, "x.csv", lambda: b"title,date,kind\n" + b"x" * 60_000_000),
}


def read_alone(how: tuple[str, str, str], path: Path) -> tuple[float, float, str]:
    """Return memory [bytes] and processor's time [s] that reading takes in a process of its own, and what is told."""
    load, read, refused = how
    code = READ.format(load=load, read=read, refused=refused)
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], cwd=ROOT, capture_output=True, text=True, check=False, timeout=300
    )
    assert done.returncode == 0, done.stderr[-2000:]
    figures, _, told = done.stdout.partition("\n")
    memory, seconds = map(float, figures.split())
    return memory, seconds, told.strip()


@pytest.mark.parametrize(("how", "name", "make"), BOMBS.values(), ids=BOMBS)
def test_a_bomb_is_refused_within_bounds(tmp_path, how, name, make):
    path = tmp_path / name
    path.write_bytes(make())
    memory, _, told = read_alone(how, path)
    assert told not in ("", "READ")
    assert memory <= MEMORY


def test_the_memory_of_a_process_is_measured(tmp_path):
    path = tmp_path / "x"
    path.write_bytes(b"x" * 90_000_000)
    memory, _, told = read_alone(("", "path.read_bytes()", "UserError"), path)
    assert told == "READ"
    assert memory == pytest.approx(90_000_000, rel=0.1)

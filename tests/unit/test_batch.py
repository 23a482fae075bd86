"""Many pianos at once: one row each, in order, whatever is wrong with some and however it ends."""

from __future__ import annotations

import csv
import os
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress
from datetime import date
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from click.testing import CliRunner, Result

from valuation import service
from valuation.batch.flat_visit import check_columns, known_columns, visit_text
from valuation.batch.pianos import Entry, find_pianos
from valuation.batch.results import COLUMNS, results_file, row_of
from valuation.batch.run import _AHEAD, _AT_ONCE, Terms, appraise_all
from valuation.batch.stopping import stops_held_back
from valuation.cli import main
from valuation.engine.decision import OPTIONS
from valuation.errors import UserError

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "data_demo" / "visits"
UPRIGHT = DEMO / "3_school_upright.toml"
TODAY = date(2026, 12, 1)
FAST = ("--draws", "1024")
BAD = 'title = "x"\ndate = 2026-05-01\n[piano]\nkind = "uprite"\n'
SMALL = 'title = "x"\ndate = 2026-05-01\n[piano]\nkind = "upright"\n'


def run(*arguments: object, jobs: int = 1) -> Result:
    """Run the command in this process; whatever is not a plain end is raised."""
    words = [str(argument) for argument in ("batch", *arguments, "--jobs", jobs, *FAST)]
    return CliRunner().invoke(main, words, catch_exceptions=False)


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def write(path: Path, *lines: str) -> Path:
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def tables():
    return service.load_shop()


@pytest.fixture
def mixed(tmp_path: Path) -> Path:
    """A folder of four visit files, the second and third at fault."""
    folder = tmp_path / "mixed"
    folder.mkdir()
    (folder / "a.toml").write_bytes(UPRIGHT.read_bytes())
    (folder / "b.toml").write_text(BAD)
    (folder / "c.toml").write_bytes(b"\xff\xfe\x00")
    (folder / "d.toml").write_bytes(UPRIGHT.read_bytes())
    (folder / "notes.txt").write_text("no visit")
    return folder


def test_a_folder_gives_one_row_a_visit_in_the_order_of_names(tmp_path):
    out = tmp_path / "out.csv"
    result = run(DEMO, "--out", out)
    visits = sorted(DEMO.glob("*.toml"))
    n = len(visits)
    assert (result.exit_code, result.stdout) == (0, "")
    assert result.stderr == f"{n} of {n} pianos appraised, 0 with faults: {out}\n"
    rows = rows_of(out)
    assert list(rows[0]) == list(COLUMNS)
    assert [row["file"] for row in rows] == [path.as_posix() for path in visits]
    assert {row["problems"] for row in rows} == {""}


def test_a_row_says_what_the_appraisal_says(tmp_path, tables):
    out = tmp_path / "out.csv"
    run(UPRIGHT, "--out", out, "--seed", 3, "--on", "2026-01-15")
    (row,) = rows_of(out)
    visit = service.read_visit_file(UPRIGHT, tables, TODAY)
    appraisal = service.appraise(visit, tables, on=date(2026, 1, 15), draws=1024, seed=3)
    assert row["ready"] == "true"
    assert row["leans_to"] == appraisal.verdict
    for key in ("title", "verdict", "clarity", "next_option", "tables_hash"):
        assert row[key] == getattr(appraisal, key)
    for key, decimals in {"beats_next": 4, "gap": 2, "expected_loss": 2, "score": 1}.items():
        assert float(row[key]) == pytest.approx(getattr(appraisal, key), abs=0.5 * 10**-decimals)
    for option in appraisal.options:
        figures = {
            "expected_price": option.expected_price,
            "price_low": option.price.low,
            "price_high": option.price.high,
            "expected_net": option.expected_net,
            "value_after": option.value_after.likely,
        }
        for name, figure in figures.items():
            assert float(row[f"{option.option}_{name}"]) == pytest.approx(figure, abs=0.005)
    assert row["stop_looking"] == str(appraisal.stop_looking).lower()
    assert row["next_check"] == ("" if appraisal.stop_looking else appraisal.next_checks[0].check)
    assert (row["on"], row["draws"], row["seed"]) == ("2026-01-15", "1024", "3")


def test_a_piano_not_evaluated_yet_has_no_verdict_and_no_price_but_a_next_check(tmp_path, tables):
    path = tmp_path / "small.toml"
    path.write_text(SMALL)
    run(path, "--out", tmp_path / "out.csv")
    (row,) = rows_of(tmp_path / "out.csv")
    appraisal = service.appraise(service.read_visit_file(path, tables, TODAY), tables, on=date(2026, 5, 1), draws=1024)
    assert not appraisal.ready
    assert (row["ready"], row["verdict"], row["leans_to"]) == ("false", "", appraisal.verdict)
    assert {row[column] for column in COLUMNS if column.startswith(OPTIONS)} == {""}
    assert (row["next_check"], row["stop_looking"]) == (appraisal.musts[0], "false")


def test_nothing_is_to_be_checked_next_where_looking_may_stop(tables):
    for _, path in service.demo_visits():
        visit = service.read_visit_file(path, tables, TODAY)
        found = service.headline(service.study_of(visit, tables, on=visit.on, draws=1024))
        assert (row_of("x", found)["next_check"] is None) == found.stop_looking


def test_every_option_has_its_columns():
    for option in OPTIONS:
        assert sum(column.startswith(f"{option}_") for column in COLUMNS) == 5


def test_a_bad_file_does_not_stop_the_others(mixed, tmp_path):
    out = tmp_path / "out.csv"
    result = run(mixed, "--out", out)
    assert (result.exit_code, result.stdout) == (1, "")
    told = result.stderr.splitlines()
    b, c = f"{mixed.as_posix()}/b.toml", f"{mixed.as_posix()}/c.toml"
    assert told == [
        f"{b}:4: piano.kind: 'uprite' is not a kind of piano; did you mean 'upright'?",
        f"{c}:1: the file is UTF-16; save it as UTF-8",
        f"2 of 4 pianos appraised, 2 with faults: {out}",
    ]
    rows = rows_of(out)
    assert [bool(row["verdict"]) for row in rows] == [True, False, False, True]
    assert [row["problems"] for row in rows] == ["", told[0], told[1], ""]
    assert {value for key, value in rows[1].items() if key not in ("file", "problems")} == {""}


@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_the_bytes_are_the_same_however_many_processes_did_the_work(mixed, tmp_path, ending):
    for k in range((2 * _AHEAD + 3) * _AT_ONCE):  # more handfuls than wait at a time, of unlike weight
        (mixed / f"e{k:03}.toml").write_text(SMALL if k % 20 == 0 else BAD)
    outs = [tmp_path / f"{jobs}.{ending}" for jobs in (1, 2, 3)]
    results = [run(mixed, "--out", out, jobs=jobs) for jobs, out in enumerate(outs, start=1)]
    assert len({result.stderr.replace(str(out), "") for result, out in zip(results, outs, strict=True)}) == 1
    assert len({out.read_bytes() for out in outs}) == 1
    assert len(outs[0].read_bytes()) > 1000


def test_parquet_holds_what_csv_holds_with_types(mixed, tmp_path):
    run(mixed, "--out", tmp_path / "out.csv")
    run(mixed, "--out", tmp_path / "out.parquet")
    table = pq.read_table(tmp_path / "out.parquet")
    assert table.column_names == list(COLUMNS)
    assert [str(table.schema.field(name).type) for name in ("title", "gap", "draws", "stop_looking")] == [
        *("string", "double", "int64", "bool"),
    ]
    as_text = [
        {key: "" if value is None else str(value).lower() if isinstance(value, bool) else str(value)}
        for row in table.to_pylist()
        for key, value in row.items()
    ]
    assert as_text == [{key: value} for row in rows_of(tmp_path / "out.csv") for key, value in row.items()]


def test_many_rows_reach_parquet_in_order(tmp_path):
    with results_file(tmp_path / "out.parquet") as writer:
        for k in range(1203):
            writer.write({"file": str(k)})
    assert pq.read_table(tmp_path / "out.parquet")["file"].to_pylist() == [str(k) for k in range(1203)]


# --- spreadsheets


def test_a_csv_may_name_visit_files_beside_the_shops_own_columns(tmp_path):
    (tmp_path / "here.toml").write_bytes(UPRIGHT.read_bytes())
    school = write(tmp_path / "school.csv", "room,visit", "3,here.toml", "4,gone.toml", "5,")
    result = run(school, "--out", tmp_path / "out.csv")
    assert result.exit_code == 1
    assert result.stderr.splitlines()[:2] == [
        "gone.toml: the file is missing; check its name and its folder",
        f"{school.as_posix()}:4: visit: the cell is empty; name the visit file",
    ]
    assert [(row["file"], bool(row["verdict"])) for row in rows_of(tmp_path / "out.csv")] == [
        ("here.toml", True),
        ("gone.toml", False),
        (f"{school.as_posix()}:4", False),
    ]


FLAT = {
    "title": 'Grand, "the old one"',
    "date": "2026-05-04",
    "technician": "Till",
    "place": "room 3",
    "story": "two\nlines",
    "humidity": "46",
    "temperature": "20.5",
    "kind": "grand",
    "size": "5 1/2 ft",
    "maker": "invented",
    "serial": "0042",
    "piano.finish": "black",
    "year": "1908",
    "year_is_about": "yes",
    "tier": "high",
    "features": "ivory_tops; straight_strung",
    "piano.renewed.strings": "1964",
    "client.name": "Edda",
    "purpose": "daily use",
    "wishes": "to play",
    "wants_to_play": "no",
    "premium": "1200",
    "to_have": "250",
    "to_hear": "900",
    "budget": "9000.50",
    "playing_year": "300",
    "horizon_years": "20",
    "finished_value.low": "8000",
    "finished_value.likely": "11000",
    "finished_value.high": "15000",
    "plate_crack": "none",
    "plate_crack.note": "looked twice",
    "pin_torque.bass": "60; 55",
    "pin_torque.treble": "80;88.3: 9 N.m",
    "pin_torque.unit": "in-lb",
    "pin_torque.note": "dry",
    "findings.finish": "even",
    "pitch_level": "-4;-3; -5",
    "hammer_groove": "1/8 in",
    "board_crown": "can't be seen",
    "sustain_a5": "not looked at",
    "strings_broken": "",
}
SAME_AS_TOML = """\
title = 'Grand, "the old one"'
date = 2026-05-04
technician = "Till"
place = "room 3"
story = "two\\nlines"
humidity = 46
temperature = 20.5
[piano]
kind = "grand"
size = "5 1/2 ft"
maker = "invented"
serial = "0042"
finish = "black"
year = 1908
year_is_about = true
tier = "high"
features = ["ivory_tops", "straight_strung"]
[piano.renewed]
strings = 1964
[client]
name = "Edda"
purpose = "daily use"
wishes = "to play"
wants_to_play = false
premium = 1200
to_have = 250
to_hear = 900
budget = 9000.50
playing_year = 300
horizon_years = 20
[finished_value]
low = 8000
likely = 11000
high = 15000
[findings]
plate_crack = { value = "none", note = "looked twice" }
pin_torque = { bass = [60, 55], treble = [80, "88.3: 9 N.m"], unit = "in-lb", note = "dry" }
finish = "even"
pitch_level = [-4, -3, -5]
hammer_groove = "1/8 in"
board_crown = "can't be seen"
"""


def test_a_row_says_all_that_a_visit_file_can_say(tables):
    assert check_columns(list(FLAT), tables) == []
    from_row = service.read_visit_text(visit_text(FLAT, tables), "row", tables, TODAY)
    assert from_row == service.read_visit_text(SAME_AS_TOML, "file", tables, TODAY)


def test_the_row_above_leaves_no_key_out(tables):
    """Every key of `visit`, `piano` and `client` that there is a column for stands in the row and the text above."""
    keys = {
        keys[0] for keys in known_columns(tables).values() if not keys[0].startswith(("findings.", "piano.renewed."))
    }
    assert {known_columns(tables)[column][0] for column in FLAT} >= keys
    assert len(keys) == 29


def test_a_row_is_appraised_like_the_visit_file_that_says_the_same(tmp_path):
    with (tmp_path / "flat.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerows([FLAT.keys(), FLAT.values()])
    (tmp_path / "same.toml").write_text(SAME_AS_TOML, encoding="utf-8")
    result = run(tmp_path / "flat.csv", tmp_path / "same.toml", "--out", tmp_path / "out.csv")
    assert result.exit_code == 0, result.stderr
    first, second = rows_of(tmp_path / "out.csv")
    assert first.pop("file") == f"{tmp_path.as_posix()}/flat.csv:2"
    assert second.pop("file") == f"{tmp_path.as_posix()}/same.toml"
    assert first == second


def test_each_fault_of_a_row_is_told_with_its_line_and_column(tmp_path):
    flat = write(
        tmp_path / "flat.csv",
        "story,title,date,kind,year,budget,wants_to_play,pin_torque.bass,pin_torque.note,pin_hold,pin_hold.note,plate_crack,care",
        ",fine,2026-05-04,grand,,,,,,,,none,yearly",
        '"two',
        'lines",,4.5.2026,grnd,1908.0,9 000,maybe,60;x,n,far,n,nune,yerly',
        ",,,,,,,,,,,,",
        "short,2026-05-04",
    )
    result = run(flat, "--out", tmp_path / "out.csv")
    assert result.exit_code == 1
    told = [line.removeprefix(f"{flat.as_posix()}:") for line in result.stderr.splitlines()[:-1]]
    assert [line.split(": ")[:2] for line in told[:-1]] == [
        ["3", "budget"],
        ["3", "date"],
        ["3", "kind"],
        ["3", "pin_hold"],
        ["3", "pin_torque.bass"],
        ["3", "pin_torque.bass"],
        ["3", "plate_crack"],
        ["3", "title"],
        ["3", "wants_to_play"],
        ["3", "year"],
    ]
    assert told[-1] == "6: the row has 2 cells, but there are 13 columns"
    assert [row["file"].rpartition(":")[2] for row in rows_of(tmp_path / "out.csv")] == ["2", "3", "6"]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", ["{}: the file is empty"]),
        (b"title,date,kind\n", ["{}: there is no row below the names of the columns"]),
        (
            b"title;date;kind\na;b;c\n",
            ["{}:1: the columns must be separated by commas; save the file as CSV with commas"],
        ),
        (b'title,date,kind\n"a,b\n', ["{}:2: this is not CSV: unexpected end of data"]),
        (
            b"title,date,kind\nM\xfcller,b,c\n",
            ["{}:2: byte FC (hexadecimal) is not UTF-8; save the file as CSV in UTF-8"],
        ),
        (
            b"titel,date,knd,finish,date,\n1,2,3,4,5,6\n",
            [
                "{}:1: a column has no name; name it or take it out",
                "{}:1: date: 'date' has 2 columns; keep one",
                "{}:1: finish: 'finish' can mean two things; write 'piano.finish' or 'findings.finish'",
                "{}:1: knd: 'knd' is not a column known here; did you mean 'kind'?",
                "{}:1: piano.kind: the column 'piano.kind' is missing",
                "{}:1: titel: 'titel' is not a column known here; did you mean 'title' or 'tier'?",
                "{}:1: title: the column 'title' is missing",
            ],
        ),
    ],
)
def test_a_csv_that_cant_be_used_is_refused_as_a_whole(tmp_path, content, told):
    path, out = tmp_path / "x.csv", tmp_path / "out.csv"
    path.write_bytes(content)
    result = run(path, "--out", out)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.splitlines() == [line.format(path.as_posix()) for line in told]
    assert not out.exists()


def test_a_byte_order_mark_from_a_spreadsheet_does_no_harm(tmp_path):
    path = tmp_path / "x.csv"
    path.write_bytes(b"\xef\xbb\xbftitle,date,kind\r\nM\xc3\xbcller,2026-01-01,grand\r\n")
    assert run(path, "--out", tmp_path / "out.csv").exit_code == 0
    assert rows_of(tmp_path / "out.csv")[0]["title"] == "Müller"


# --- what is asked can't be done


def test_every_source_that_cant_be_used_is_told_and_nothing_is_written(tmp_path):
    (tmp_path / "empty").mkdir()
    write(tmp_path / "x.txt", "x")
    sources = [DEMO, tmp_path / "empty", tmp_path / "gone", tmp_path / "x.txt"]
    result = run(*sources, "--out", tmp_path / "out.csv")
    assert (result.exit_code, result.stdout) == (2, "")
    assert [line.removeprefix(f"{tmp_path.as_posix()}/") for line in result.stderr.splitlines()] == [
        "empty: there is no visit file (*.toml) in this folder",
        "gone: there is no such file or folder; check its name",
        "x.txt: give a folder, a visit file (.toml) or a .csv",
    ]
    assert not (tmp_path / "out.csv").exists()


def test_no_cell_of_the_results_is_a_formula_whoever_named_the_piano_or_its_file(tmp_path):
    nasty = '=HYPERLINK("http://tracker.example";"x");+1'
    good, bad = tmp_path / "=good.toml", tmp_path / "-bad.toml"
    write(good, f"title = '{nasty}'", "date = 2026-05-01", "[piano]", "kind = 'upright'")
    write(bad, f"title = '{nasty}'", "date = 2026-05-01", "[piano]", "kind = '@cmd'")
    with pytest.MonkeyPatch.context() as there:
        there.chdir(tmp_path)
        assert run("=good.toml", "-bad.toml", "--out", "out.csv").exit_code == 2  # the shell's own: an option
        assert run("=good.toml", "./-bad.toml", "--out", "out.csv").exit_code == 1
    first, second = rows_of(tmp_path / "out.csv")
    assert (first["file"], first["title"]) == ("'=good.toml", '\'=HYPERLINK("http://tracker.example";"x");\'+1')
    assert second["file"] == "'-bad.toml"
    cells = [cell for row in (first, second) for cell in row.values() if cell]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@", "\t", "\r", "\n"))]
    assert not [cell for cell in cells if cell.startswith("-") and not cell[1:].replace(".", "").isdigit()]
    run(good, "--out", tmp_path / "out.parquet")
    assert pq.read_table(tmp_path / "out.parquet")["title"].to_pylist() == [nasty]


@pytest.mark.parametrize(
    ("out", "told"),
    [
        ("gone/out.csv", "out.csv: there is no folder '{}/gone'; make it first"),
        ("out.xlsx", "out.xlsx: results are written as .csv or .parquet; give it such an ending"),
        ("folder.csv", "folder.csv: this is a folder; name a file in it that ends in .csv or .parquet"),
        ("in.csv", "in.csv: this would replace what is to be read; name another file"),
        (
            "x" * 260 + ".csv",
            "x" * 260 + ".csv: it can't be written, and nothing was left behind: its name is too long; give it a"
            " shorter one",
        ),
    ],
)
def test_results_that_cant_go_there_are_told(tmp_path, out, told):
    (tmp_path / "folder.csv").mkdir()
    given = write(tmp_path / "in.csv", "title,date,kind", "x,2026-05-04,grand")
    before = sorted(tmp_path.iterdir())
    result = run(given, "--out", tmp_path / out)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == told.format(tmp_path) + "\n"
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.skipif(sys.platform == "win32", reason="limits on the size of files are a matter of POSIX")
@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_a_full_disk_is_told_and_the_earlier_results_stay(tmp_path, ending):
    out = tmp_path / f"out.{ending}"
    out.write_text("earlier results")
    limit = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000)); "
    call = "from valuation.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-B", "-c", limit + call, "batch", str(DEMO), "--out", str(out), "--jobs", "1", *FAST],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(
        f"out.{ending}: it can't be written, and nothing was left behind: the disk takes no file "
    )
    assert [path.name for path in tmp_path.iterdir()] == [out.name]
    assert out.read_text() == "earlier results"


def test_a_day_that_the_tables_do_not_know_is_a_fault_of_each_piano(tmp_path):
    result = run(UPRIGHT, "--out", tmp_path / "out.csv", "--on", "1900-01-01")
    assert result.exit_code == 1
    assert result.stderr.startswith(f"{UPRIGHT.as_posix()}: --on: no material '")


# --- in parallel, and how it ends


def test_pianos_are_taken_a_few_at_a_time(tables):
    taken = 0

    def endless():
        nonlocal taken
        while True:
            taken += 1
            yield Entry("nowhere.toml", path=Path("nowhere.toml"))

    results = appraise_all(endless(), tables, Terms(today=TODAY), jobs=2)
    for _ in range(300):
        assert next(results).row["problems"] == "nowhere.toml: the file is missing; check its name and its folder"
    results.close()
    assert taken < 600


class Deadly:
    """Ends the process that unpacks it, as if it had been killed from outside."""

    def __reduce__(self):
        return os._exit, (9,)


def test_a_process_that_is_ended_from_outside_is_told(tables):
    results = appraise_all([Deadly()], tables, Terms(today=TODAY), jobs=2)
    with pytest.raises(UserError, match="a process was ended from outside"):
        next(results)


def test_sources_keep_their_order(tables, tmp_path):
    flat = write(tmp_path / "a.csv", "title,date,kind", "x,2026-05-04,grand")
    found = find_pianos([UPRIGHT, flat, DEMO], tables)
    assert [len(part) for part in found] == [1, 1, len(list(DEMO.glob("*.toml")))]
    assert [entry.shown for part in found for entry in part][:2] == [UPRIGHT.as_posix(), f"{flat.as_posix()}:2"]


@pytest.mark.skipif(sys.platform == "win32", reason="signals to a group of processes are a matter of POSIX")
@pytest.mark.parametrize("jobs", ["1", "2"])
@pytest.mark.parametrize(
    ("stop", "code", "told"), [("SIGINT", 130, "Stopped; nothing was written.\n"), ("SIGTERM", 143, "")]
)
def test_a_batch_that_is_stopped_leaves_nothing_half_done(tmp_path, stop, code, told, jobs):
    pianos = write(tmp_path / "many.csv", "visit", *[str(UPRIGHT)] * 20_000)
    out = tmp_path / "out.csv"
    out.write_text("earlier results")
    command = [sys.executable, "-m", "valuation", "batch", str(pianos), "--out", str(out), "--jobs", jobs]

    def heed_ctrl_c() -> None:  # also where these tests run in the background, which doesn't
        signal.signal(signal.SIGINT, signal.SIG_DFL)

    with subprocess.Popen(
        command, cwd=ROOT, stderr=subprocess.PIPE, text=True, start_new_session=True, preexec_fn=heed_ctrl_c
    ) as process:
        try:
            limit = time.monotonic() + 60
            while not list(tmp_path.glob(".*.unfinished")) and time.monotonic() < limit:
                time.sleep(0.01)
            os.killpg(process.pid, getattr(signal, stop)) if stop == "SIGINT" else process.terminate()
            assert process.communicate(timeout=60)[1] == told  # comes when the last process has let go of the stream
        finally:
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
    assert process.returncode == code
    assert sorted(path.name for path in tmp_path.iterdir()) == ["many.csv", "out.csv"]
    assert out.read_text() == "earlier results"


@pytest.fixture
def ctrl_c_heeded():
    """Ctrl-C raises `KeyboardInterrupt`, also where these tests run in the background."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("ctrl_c_heeded")
def test_a_stop_that_comes_while_a_process_starts_is_put_off_but_not_lost():
    def start():
        with stops_held_back():
            os.kill(os.getpid(), signal.SIGINT)
            time.sleep(0.05)  # the other thread takes the signal meanwhile
            started.append(True)

    started: list[bool] = []
    over = threading.Event()
    threading.Thread(
        target=over.wait, daemon=True
    ).start()  # NumPy has such threads, that hear what the main one doesn't
    with pytest.raises(KeyboardInterrupt):
        start()
    over.set()
    assert started == [True]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


@pytest.mark.skipif(sys.platform == "win32", reason="signals are not blocked there")
def test_a_process_started_meanwhile_does_not_hear_ctrl_c():
    ask = "import signal; print(signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, []))"
    with stops_held_back():
        meanwhile = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    afterwards = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert (meanwhile.stdout, afterwards.stdout) == ("True\n", "False\n")


@pytest.mark.skipif(sys.platform != "linux", reason="children are looked up in /proc")
def test_no_process_outlives_the_one_that_started_it(tmp_path):
    pianos = write(tmp_path / "many.csv", "visit", *[str(UPRIGHT)] * 20_000)
    command = [sys.executable, "-m", "valuation", "batch", str(pianos), "--out", str(tmp_path / "o.csv"), "--jobs", "2"]
    with subprocess.Popen(command, cwd=ROOT, stderr=subprocess.PIPE, start_new_session=True) as process:
        children = Path(f"/proc/{process.pid}/task/{process.pid}/children")
        try:
            limit = time.monotonic() + 60
            while len(children.read_text().split()) < 3 and time.monotonic() < limit:  # two, and Python's own helper
                time.sleep(0.01)
            process.kill()
            process.communicate(timeout=60)  # comes when the last process has let go of the stream
        finally:
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
    assert process.returncode == -signal.SIGKILL

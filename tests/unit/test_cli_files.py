"""Every command that writes a file, against every place where it must not: what was there stays, and it is told."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result
from somebody import as_somebody, let_reach

from valuation.cli import main
from valuation.disk import writing
from valuation.service.visits import open_shop

ROOT = Path(__file__).parents[2]
VISITS = ROOT / "data_demo" / "visits"
FAST = ("--draws", "1024")
VISIT = "c" * 32


@dataclass(frozen=True)
class Command:
    """One command: its words with the file that it writes, the ending of that, and what it reads in a folder."""

    words: Callable[[Path, Path], tuple[object, ...]]
    ending: str
    inputs: tuple[str, ...] = ()
    replaces: bool = True

    def why_not(self, given: Path) -> str:
        """What is said of an input in the place of the output: that it is one, or first that its ending is wrong."""
        pages = {".csv": (".csv", ".xlsx", ".parquet"), ".xlsx": (".csv", ".xlsx"), ".parquet": (".csv", ".parquet")}
        taken = given.suffix in pages.get(self.ending, (self.ending,))
        return "would replace what is to be read" if taken else "give it such an ending"


COMMANDS = {
    "form": Command(lambda here, out: ("form", out, "--tables", here / "tables"), ".pdf", ("tables/rates.csv",), False),
    "evaluate": Command(
        lambda here, out: (
            *("evaluate", here / "visit.toml", "--out", out, "--shop", here / "shop.toml", *FAST),
            *("--sales", here / "sales.csv", "--photo", f"plate_crack:{here / 'photo.jpg'}=The plate"),
            *("--tables", here / "tables"),
        ),
        ".pdf",
        ("visit.toml", "shop.toml", "sales.csv", "price_index.csv", "photo.jpg", "tables/rates.csv"),
        False,
    ),
    "batch": Command(
        lambda here, out: (
            *("batch", here / "visits", here / "list.csv", "--out", out, "--tables", here / "tables", "--jobs", 1),
            *FAST,
        ),
        ".csv",
        ("list.csv", "visit.toml", "visits/one.toml", "tables/rates.csv"),
    ),
    "batch to parquet": Command(
        lambda here, out: ("batch", here / "visits", "--out", out, "--jobs", 1, *FAST), ".parquet", ("visits/one.toml",)
    ),
    "sales export": Command(
        lambda here, out: ("sales", "export", here / "sales.csv", out, "--tables", here / "tables"),
        ".csv",
        ("sales.csv", "price_index.csv", "tables/rates.csv"),
    ),
    "sales export to a workbook": Command(
        lambda here, out: ("sales", "export", here / "sales.csv", out), ".xlsx", ("sales.csv",)
    ),
    "jobs export": Command(lambda _, out: ("jobs", "export", out), ".csv", ("store/valuation.sqlite",)),
    "jobs export to a workbook": Command(lambda _, out: ("jobs", "export", out), ".xlsx", ("store/valuation.sqlite",)),
    "jobs export to parquet": Command(lambda _, out: ("jobs", "export", out), ".parquet", ("store/valuation.sqlite",)),
    "jobs calendar": Command(lambda _, out: ("jobs", "calendar", out), ".ics", ("store/valuation.sqlite",)),
    "export": Command(lambda _, out: ("export", out), ".zip", ("store/valuation.sqlite",)),
    "people hand-out": Command(
        lambda _, out: ("people", "hand-out", VISIT, "--out", out), ".zip", ("store/valuation.sqlite",)
    ),
    "sales bands": Command(
        lambda here, out: (
            *("sales", "bands", here / "sales.csv", out, "--kind", "upright", "--on", "2026-12-01"),
            *("--tables", here / "tables"),
        ),
        ".csv",
        ("sales.csv", "price_index.csv", "tables/bands.csv"),
    ),
}

by_command = pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with all that any command reads."""
    from made_photos import made_photo

    here = tmp_path_factory.mktemp("made")
    (here / "visits").mkdir()
    shutil.copy(VISITS / "6_heirloom.toml", here / "visit.toml")
    shutil.copy(VISITS / "3_school_upright.toml", here / "visits" / "one.toml")
    (here / "list.csv").write_text("visit\nvisit.toml\n", encoding="utf-8")
    shutil.copy(ROOT / "data_demo" / "shop.toml", here)
    shutil.copytree(ROOT / "valuation" / "tables", here / "tables")
    for name in ("sales.csv", "price_index.csv"):
        shutil.copy(ROOT / "data_demo" / "sales" / name, here)
    (here / "photo.jpg").write_bytes(made_photo())
    assert run(here, ("jobs", "calendar", here / "x.ics")).exit_code == 0  # makes the store
    (here / "x.ics").unlink()
    with closing(open_shop({"VALUATION_DATA": str(here / "store"), "DATABASE_URL": ""}, date(2026, 12, 1))) as shop:
        now = datetime(2026, 12, 1, 10, tzinfo=UTC)
        shop.start_visit({"piano.kind": "upright", "title": "Hall"}, who="", device="", now=now, visit_id=VISIT)
    return here


@pytest.fixture
def here(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made, tmp_path / "here"))


def run(here: Path, words: tuple[object, ...]) -> Result:
    store = {"VALUATION_DATA": str(here / "store"), "DATABASE_URL": ""}
    return CliRunner().invoke(main, list(map(str, words)), env=store, catch_exceptions=False)


def files_of(folder: Path) -> dict[str, bytes]:
    """All files but those of the store, which may be written to on its opening."""
    paths = (path for path in folder.rglob("*") if path.is_file() and "store" not in path.relative_to(folder).parts)
    return {str(path.relative_to(folder)): path.read_bytes() for path in paths}


def refused(here: Path, command: Command, out: Path, told: str) -> None:
    """The command says in one line why not, and leaves every file as it was."""
    before = files_of(here)
    done = run(here, command.words(here, out))
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith(f"{out.name}: ")
    assert told in done.stderr
    assert files_of(here) == before
    assert list(here.parent.rglob(f"*{writing.UNFINISHED}")) == []


@by_command
def test_a_new_file_is_written_with_the_rights_that_any_new_file_has(here, command):
    out, beside = here / f"out{command.ending}", here / "beside"
    beside.touch()
    done = run(here, command.words(here, out))
    assert done.exit_code == 0, done.stderr
    assert out.stat().st_size > 100
    assert out.stat().st_mode == beside.stat().st_mode


def links() -> Iterator[tuple[str, Callable[[Path, Path], None]]]:
    yield "symbolic", lambda out, target: out.symlink_to(target)
    yield "hard", lambda out, target: out.hardlink_to(target)


@by_command
@pytest.mark.parametrize("link", [make for _, make in links()], ids=[name for name, _ in links()])
def test_an_input_under_another_name_is_not_replaced(here, command, link):
    for number, name in enumerate(command.inputs):
        out, target = here / f"out{number}{command.ending}", here / name
        link(out, target)
        refused(here, command, out, command.why_not(target if out.is_symlink() else out))


@by_command
def test_an_input_itself_is_not_replaced(here, command):
    for name in command.inputs:
        refused(here, command, here / name, command.why_not(here / name))


@by_command
@pytest.mark.parametrize("ending", ["", ".toml", ".txt", ".sqlite", ".pdf.exe"])
def test_another_ending_is_not_written(here, command, ending):
    refused(here, command, here / f"out{ending}", "give it such an ending")


@by_command
def test_an_existing_file_is_replaced_only_where_the_command_says_so(here, command):
    out = here / f"out{command.ending}"
    out.write_text("older")
    out.chmod(0o640)
    words = command.words(here, out)
    assert (
        "is replaced" in run(here, (*words[: 2 if words[0] in ("sales", "jobs", "people") else 1], "--help")).stdout
    ) == (command.replaces)
    if not command.replaces:
        refused(here, command, out, "there is such a file already; name another one, or say --replace")
        words = (*words, "--replace")
    assert run(here, words).exit_code == 0
    assert out.stat().st_size > 100
    assert out.stat().st_mode & 0o777 == 0o640


@by_command
def test_a_link_to_another_file_stays_one_and_the_file_is_replaced(here, command):
    out, target = here / f"out{command.ending}", here / f"kept{command.ending}"
    target.write_text("older")
    out.symlink_to(target)
    done = run(here, (*command.words(here, out), *([] if command.replaces else ["--replace"])))
    assert done.exit_code == 0, done.stderr
    assert out.is_symlink()
    assert target.stat().st_size > 100


@by_command
@pytest.mark.parametrize(
    ("code", "told"),
    [
        (errno.ENOSPC, "the disk is full; make room on it, then try again"),
        (errno.EROFS, "the disk can only be read; write it to another one"),
        (errno.EIO, "the disk fails"),
        (errno.EDQUOT, "the disk has no more room for this user"),
    ],
)
def test_a_disk_that_refuses_at_the_last_moment_is_told_and_nothing_is_left(here, command, code, told, monkeypatch):
    out = here / f"out{command.ending}"
    out.write_text("older")

    def no_room(path: Path) -> None:
        raise OSError(code, os.strerror(code), str(path))

    monkeypatch.setattr(writing, "_sync", no_room)
    words = Command(
        lambda here, out: (*command.words(here, out), *([] if command.replaces else ["--replace"])), command.ending
    )
    refused(here, words, out, f"it can't be written, and nothing was left behind: {told}")


@pytest.fixture
def full_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk with room for a name and nothing else."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", str(place)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("a disk of one's own can't be mounted here")
    (place / "rest").write_bytes(b"x" * 16_384)
    yield place
    subprocess.run(["umount", str(place)], check=True)


@by_command
def test_a_full_disk_is_told_and_nothing_is_left(here, command, full_disk):
    refused(here, command, full_disk / f"out{command.ending}", "the disk is full; make room on it, then try again")
    assert [path.name for path in full_disk.iterdir()] == ["rest"]


@by_command
def test_a_folder_that_may_not_be_written_is_told(here, command, tmp_path):
    # once as it should be: what a command imports, somebody else may not be allowed to read
    run(here, command.words(here, tmp_path / f"first{command.ending}"))
    locked = here / "locked"
    locked.mkdir(mode=0o555)
    let_reach(tmp_path)
    for path in (here, *here.rglob("*")):
        if path != locked:
            path.chmod(0o777 if path.is_dir() else 0o666)
    with as_somebody():
        refused(here, command, locked / f"out{command.ending}", "this user may not write in its folder")


@by_command
def test_a_folder_that_is_missing_and_one_in_the_file_s_place_are_told(here, command):
    (here / f"folder{command.ending}").mkdir()
    refused(here, command, here / f"folder{command.ending}", "this is a folder; name a file in it")
    refused(here, command, here / "none" / f"out{command.ending}", "make it first")


@by_command
def test_a_device_or_a_pipe_is_not_written_to(here, command):
    refused(here, command, Path("/dev/null"), "give it such an ending")
    for number, device in enumerate(("/dev/full", "/dev/zero")):
        link = here / f"device{number}{command.ending}"
        link.symlink_to(device)
        refused(here, command, link, "give it such an ending")
        link.unlink()
    pipe = here / f"pipe{command.ending}"
    os.mkfifo(pipe)
    refused(here, command, pipe, "this is no ordinary file; name one on the disk")


def files_of_tables(here: Path) -> list[str]:
    return sorted(path.name for path in (here / "tables").iterdir())


def test_a_folder_of_tables_is_written_whole_and_read_back(here):
    new = here / "new" / "folder"
    assert run(here, ("tables", "export", new)).exit_code == 0
    assert sorted(path.name for path in new.iterdir()) == files_of_tables(here)
    assert "in force already" in run(here, ("tables", "import", new, "--why", "x")).stderr


def wrong_places(here: Path) -> Iterator[tuple[Path, str]]:
    """Folders for tables where none can be written, with what is said."""
    plain = here / "plain"
    plain.touch()
    yield plain, "there is a file of this name"
    yield Path("/dev/null"), "there is a file of this name"
    yield plain / "below", "its folder is no folder"
    for name, make, told in (
        ("pipe", os.mkfifo, "no ordinary file"),
        ("device", lambda path: path.symlink_to("/dev/zero"), "give it such an ending"),
        ("folder", Path.mkdir, "this is a folder"),
    ):
        place = here / f"with_a_{name}"
        place.mkdir()
        (place / "rates.csv").write_text("older")
        make(place / "tiers.csv")
        yield place, told


def test_a_folder_of_tables_is_not_written_where_a_file_a_pipe_or_a_device_stands(here):
    for place, told in wrong_places(here):
        others = {path for path in here.rglob("*") if not path.is_file() and "store" not in path.parts}
        before = files_of(here)
        done = run(here, ("tables", "export", place))
        assert (done.exit_code, done.stdout) == (2, ""), place
        assert told in done.stderr
        assert files_of(here) == before
        assert {p for p in here.rglob("*") if not p.is_file() and "store" not in p.parts} == others


def test_a_folder_of_tables_on_a_full_disk_stays_as_it_was_whole(here, full_disk):
    (full_disk / "rest").unlink()
    for name in ("brackets.csv", "rates.csv"):
        (full_disk / name).write_text("older")
    (full_disk / "rest").write_bytes(b"x" * 4096)
    done = run(here, ("tables", "export", full_disk))
    assert (done.exit_code, "the disk is full" in done.stderr) == (2, True)
    assert sorted(path.name for path in full_disk.iterdir()) == ["brackets.csv", "rates.csv", "rest"]
    assert (full_disk / "rates.csv").read_text() == "older"


@pytest.mark.parametrize("words", [("appraise", "visit.toml", "--tables"), ("check-tables",), ("tables", "import")])
def test_a_folder_of_tables_with_a_pipe_or_a_device_in_it_is_not_read(here, words):
    words = tuple(here / word if word.endswith(".toml") else word for word in words)
    why = ("--why", "x") if words[0] == "tables" else ()
    for make in (os.mkfifo, lambda path: path.symlink_to("/dev/zero"), Path.mkdir):
        folder = shutil.copytree(here / "tables", here / make.__name__)
        (folder / "rates.csv").unlink()
        make(folder / "rates.csv")
        done = run(here, (*words, folder, *why))
        assert (done.exit_code, done.stdout) == (2, "")
        assert "rates.csv" in done.stderr


READERS = {
    "appraise": (".toml", lambda _, given: ("appraise", given, *FAST)),
    "evaluate, its visit": (".toml", lambda here, given: ("evaluate", given, "--out", here / "out.pdf", *FAST)),
    "evaluate, its shop": (
        ".toml", lambda here, given: ("evaluate", here / "visit.toml", "--out", here / "out.pdf", "--shop", given),
    ),
    "evaluate, its sales": (
        ".csv", lambda here, given: ("evaluate", here / "visit.toml", "--out", here / "out.pdf", "--sales", given),
    ),
    "evaluate, its photo": (
        ".jpg", lambda here, given: ("evaluate", here / "visit.toml", "--out", here / "out.pdf", "--photo", given),
    ),
    "batch": (".csv", lambda here, given: ("batch", given, "--out", here / "out.csv", *FAST)),
    "sales check": (".csv", lambda _, given: ("sales", "check", given)),
    "sales check of a workbook": (".xlsx", lambda _, given: ("sales", "check", given)),
    "sales export": (".csv", lambda here, given: ("sales", "export", given, here / "out.csv")),
    "measure strings": (".csv", lambda _, given: ("measure", "strings", given)),
    "measure sound": (".wav", lambda _, given: ("measure", "sound", given, "--key", "A4")),
    "import": (".zip", lambda _, given: ("import", given)),
    "sales show": (".csv", lambda here, given: ("sales", "show", given, "--piano", here / "visit.toml")),
    "sales show, its piano": (".toml", lambda here, given: ("sales", "show", here / "sales.csv", "--piano", given)),
    "appraise, its sales": (".csv", lambda here, given: ("appraise", here / "visit.toml", "--sales", given, *FAST)),
    "sales bands": (
        ".csv", lambda here, given: ("sales", "bands", given, here / "out.csv", "--kind", "upright"),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("ending", "words"), READERS.values(), ids=READERS)
def test_a_device_a_pipe_a_folder_and_nothing_at_all_are_not_read(here, ending, words):
    pipe, device, folder = (here / f"{name}{ending}" for name in ("pipe", "device", "folder"))
    os.mkfifo(pipe)
    device.symlink_to("/dev/zero")
    folder.mkdir()
    for given, told in (
        (pipe, "no ordinary file"),
        (device, "no ordinary file"),
        (folder, "folder"),
        (here / f"none{ending}", ("missing; check its name", "no such file or folder; check its name")),
    ):
        done = run(here, words(here, given))
        assert (done.exit_code, done.stdout) == (2, "")
        assert done.stderr.count("\n") == 1
        assert any(words in done.stderr for words in ([told] if isinstance(told, str) else told)), done.stderr
        assert not list(here.glob("out.*"))


@pytest.mark.parametrize(
    ("ending", "words"), [pair for name, pair in READERS.items() if name not in ("import", "batch")],
    ids=[name for name in READERS if name not in ("import", "batch")],
)  # fmt: skip
def test_a_file_of_a_size_that_none_has_is_refused_unread(here, ending, words):
    given = here / f"large{ending}"
    with given.open("wb") as file:
        file.truncate(1 << 40)  # a hole, which takes no room; reading it would fill any memory
    done = run(here, words(here, given))
    assert (done.exit_code, done.stdout) == (2, "")
    assert "the file is larger than" in done.stderr


# --- that no command is forgotten


def commands(group: click.Group, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from commands(command, (*path, name))
        else:
            yield (*path, name), command


def tried(words: tuple[object, ...]) -> dict[tuple[str, str], str]:
    """The parameters of a command that name files or folders, and what is given for them."""
    command, rest, path = main, [str(word) for word in words], []
    while isinstance(command, click.Group):
        path.append(rest.pop(0))
        command = command.commands[path[-1]]
    given = command.make_context("x", rest).params
    named = [parameter.name for parameter in command.params if is_a_place(parameter)]
    return {(" ".join(path), name): repr(given[name]) for name in named if given[name]}


def is_a_place(parameter: click.Parameter) -> bool:
    """Whether a parameter names a file or a folder; the folder of `--tables` is read by one reader for all."""
    return isinstance(parameter.type, click.Path) and "--tables" not in parameter.opts


def test_every_command_that_names_a_file_is_among_those_that_are_tried(here):
    wanted = {(" ".join(path), p.name) for path, command in commands(main) for p in command.params if is_a_place(p)}
    folders = {("tables export", "folder"), ("tables import", "folder"), ("check-tables", "folder")}
    given = here / "given"
    written = [tried(command.words(here, given)) for command in COMMANDS.values()]
    read = [tried(words(here, given)) for _, words in READERS.values()]
    found = {place for places in (*written, *read) for place, value in places.items() if str(given) in value}
    assert found | folders == wanted

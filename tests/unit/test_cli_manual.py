"""The command `help`: the manual from the packaged files."""

from __future__ import annotations

from click.testing import CliRunner, Result

from valuation import manual
from valuation.cli import main


def run(*arguments: str) -> Result:
    """Run a command in this process; whatever is not a plain end is raised."""
    return CliRunner().invoke(main, arguments, catch_exceptions=False)


def test_without_a_name_every_chapter_is_listed_with_its_title():
    listed = dict(line.split(maxsplit=1) for line in run("help").output.splitlines())
    assert listed == manual.chapters()
    assert len(listed) > 10


def test_a_chapter_is_shown_as_it_stands():
    for name, title in manual.chapters().items():
        shown = run("help", name)
        assert shown.exit_code == 0
        assert shown.output == manual.chapter(name)
        assert shown.output.startswith(f"# {title}\n")


def test_a_name_that_is_no_chapter_is_refused_with_those_there_are():
    refused = run("help", "visits")
    assert refused.exit_code == 2
    assert "'visit'" in refused.output

"""What a tap in a list of jobs does: begin the next stage, mark a step as done, take that back."""

from __future__ import annotations

from valuation.engine.rows import Tables
from valuation.errors import UserError
from valuation.language import say
from valuation.screens import frame, shop
from valuation.screens.state import device, fill, held, look_at, who
from valuation.service import jobs as service_jobs
from valuation.service.jobs import JobLine
from valuation.service.visits import Entry, Shop

_SAID = "jobs_said"


def stage_name(stage: str, book: Tables) -> str:
    """Return what a stage is called; one that today's table lacks by its id."""
    if not stage:
        return say("no stage yet")
    return next((say(row.name) for row in book.stages if row.id == stage), stage)


def due_words(line: JobLine, book: Tables) -> str:
    """Return what is to be done next; empty where nothing is."""
    if not line.due:
        return line.next_what
    return next((say(row.what) for row in book.follow_ups if row.id == line.due), line.due)


def begin_stage(store: Shop, line: JobLine, stage: str, book: Tables) -> None:
    """Let an evaluation begin a stage today, with what is told or agreed by it."""

    def step() -> Entry | None:
        draft = look_at(line.visit, store, book)
        return service_jobs.move(
            store,
            line,
            stage,
            book=book,
            found=frame.appraisal_or_none(draft, book),
            who=who(),
            device=device(),
            now=shop.now(),
        )

    words = say("{title}: now {stage}.", title=line.title, stage=stage_name(stage, book))
    _take(line.visit, step, words)


def mark_done(store: Shop, line: JobLine, book: Tables) -> None:
    """Mark what is due as done, so that what follows it comes up."""

    def step() -> Entry | None:
        return service_jobs.step_done(store, line, book, who=who(), device=device(), now=shop.now())

    words = say("{title}: done: {step}.", title=line.title, step=due_words(line, book))
    _take(line.visit, step, words)


def _take(visit: str, step, words: str) -> None:
    try:
        entry = step()
    except UserError as error:
        fill(_SAID, ("; ".join(map(str, error.problems)), "", ""))
        return
    fill(_SAID, (words, visit, entry.id if entry else ""))


def said() -> tuple[str, bool]:
    """Return what the last tap did, empty if nothing, and whether it can be taken back."""
    words, _, entry = held(_SAID) or ("", "", "")
    return words, bool(entry)


def forget() -> None:
    """Say nothing more of the last tap."""
    fill(_SAID, None)


def take_back(store: Shop) -> None:
    """Take back what the last tap did; the history keeps both."""
    words, visit, entry = held(_SAID) or ("", "", "")
    if not entry:
        return
    try:
        store.undo(visit, who=who(), device=device(), now=shop.now(), entry_id=entry)
        fill(_SAID, (say("Taken back: {what}", what=words), "", ""))
    except UserError as error:
        fill(_SAID, ("; ".join(map(str, error.problems)), "", ""))

"""What a tap in a list of jobs does: begin the next stage, mark a step as done, take that back."""

from __future__ import annotations

from valuation.engine.rows import Tables
from valuation.errors import UserError
from valuation.language import say
from valuation.report.their_version import STAYS, TheirVersion, their_version
from valuation.screens import frame, shop
from valuation.screens.state import Draft, device, fill, held, look_at, who
from valuation.screens.wishes import wishes_of
from valuation.service import decide_at
from valuation.service import jobs as service_jobs
from valuation.service.jobs import JobLine
from valuation.service.visits import Entry, Shop

_SAID = "jobs_said"


def stage_name(stage: str, book: Tables) -> str:
    """Return what a stage is called; one that today's table lacks by its id."""
    if not stage:
        return say("no stage yet")
    return next((say(row.name) for row in book.stages if row.id == stage), stage)


def version_or_none(draft: Draft, book: Tables, option: str) -> TheirVersion | None:
    """Return an option as the client wants it, which is what the quotation says; None where there is no such way."""
    if option not in STAYS:
        return None
    study = frame.studied(draft, book)
    version = their_version(study, decide_at(study), wishes_of(draft), option)
    return version if isinstance(version, TheirVersion) else None


def due_words(line: JobLine, book: Tables) -> str:
    """Return what is to be done next; empty where nothing is."""
    if not line.due:
        return line.next_what
    return next((say(row.what) for row in book.follow_ups if row.id == line.due), line.due)


def begin_stage(store: Shop, line: JobLine, stage: str, book: Tables) -> None:
    """Let an evaluation begin a stage today, with what is told or agreed by it."""

    def step() -> Entry | None:
        draft = look_at(line.visit, store, book)
        found = frame.appraisal_or_none(draft, book)
        option = next(iter(service_jobs.options_to_agree(found)), "") if found else ""
        yes = any(row.id == stage and row.outcome == "yes" for row in book.stages)
        return service_jobs.move(
            store,
            line,
            stage,
            book=book,
            found=found,
            version=version_or_none(draft, book, option) if yes else None,
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

"""One line of a printed form: what stands above its field and in it, and what was typed there as a finding."""

from __future__ import annotations

from valuation.engine.rows import CheckRow, Tables
from valuation.facts.visit import Finding
from valuation.language import later, say
from valuation.report.format import unit_words
from valuation.report.labels import choice_word
from valuation.screens import answers
from valuation.screens.state import Draft

_SECTION_NAMES = {
    "bass": later("bass"),
    "tenor": later("tenor"),
    "treble": later("treble"),
    answers.ANYWHERE: later("anywhere"),
}


def label(number: int, check: CheckRow, row: str, system: str) -> str:
    """Return what stands above the field of a check, or of one row of its readings."""
    name = say("No. {number} · {name}", number=number, name=say(check.name))
    if row:
        return f"{name}, {say(_SECTION_NAMES[row])} ({unit_words(check.unit, system)})"
    if check.answer == "number":
        unit = unit_words(check.unit, system)
        return f"{name} ({unit})" if unit else name
    words = (choice_word(check, grade) for grade in check.choices)
    return f"{name}: {', '.join(f'{box} {word}' for box, word in enumerate(words, start=1))}"


def stored(finding: Finding | None, check: CheckRow, row: str, system: str) -> str:
    """Return what stands in the field of a finding."""
    if finding is None:
        return ""
    if finding.cannot_see:
        return answers.UNSEEN[0] if row in ("", answers.ROWS[0]) else ""
    if finding.grade:
        return str(list(check.choices).index(finding.grade) + 1)
    return answers.typed_row(finding, check, row, system) if row else answers.typed_number(finding, check, system)


def read(draft: Draft, check: CheckRow, typed: dict[str, str], book: Tables) -> answers.Read:
    """Return what a line of the form says; a note that was made on the check stays."""
    filled = [text for text in typed.values() if text]
    if not filled:
        return None, ()
    before = draft.finding(check.id)
    note = before.note if before else ""
    if check.answer == "choice":
        return answers.read_short(check, filled[0], note, draft.visit, book)
    if len(filled) == 1 and filled[0].lower() in answers.UNSEEN:
        return Finding(check=check.id, cannot_see=True, note=note), ()
    if check.answer == "number":
        return answers.read_number(check, filled[0], note, draft.visit, book, draft.system)
    finding, faults = answers.read_rows(check, typed, note, draft.visit, book, draft.system)
    return answers.leave_untouched(before, finding, check, typed, draft.system), faults

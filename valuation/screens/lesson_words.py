"""What was learned, in words: each proposal with its evidence, its interval, and every cell that it would change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from valuation.engine.rows import KINDS, Tables
from valuation.language import later, say, say_many
from valuation.learn import Change, Proposal
from valuation.report.format import money, number, percent
from valuation.report.labels import in_sentence, listed, option_name, with_capital
from valuation.screens import marks
from valuation.service.lesson_effects import Effect
from valuation.service.lessons import Lessons

_WORK = {
    "access": later("getting at things"),
    "follow": later("what other work brings with it"),
    "service": later("service without a plan"),
}
_GROUPS = {
    "hours": later("Hours of work"),
    "reading": later("How sure checks are"),
    "odds": later("How often faults are there before anyone looks"),
}
_MOST_CHANGES = 60
_OPTIONS = ("rebuild", "partial_repair", "keep", "retire")


def groups(proposals: Sequence[Proposal]) -> dict[str, list[Proposal]]:
    """Return the proposals by what they are about: ``hours``, ``reading`` or ``odds``."""
    found: dict[str, list[Proposal]] = {}
    for proposal in proposals:
        found.setdefault("hours" if proposal.subject == "setting" else proposal.subject, []).append(proposal)
    return found


def group_name(group: str) -> str:
    """Return what the proposals of a group are about."""
    return say(_GROUPS[group])


def proposal_name(proposal: Proposal, book: Tables) -> str:
    """Return what a proposal is about."""
    if proposal.subject == "hours":
        return say("Hours of {family}", family=in_sentence(family_name(proposal.id.removeprefix("hours-"), book)))
    if proposal.subject == "setting":
        return say("How whole jobs run over")
    key = dict(proposal.changes[0].key)
    if proposal.subject == "reading":
        used = [in_sentence(say(row.name)) for row in book.checks if row.sureness == key["id"]]
        names = list(dict.fromkeys(used))
        shown = listed(names[:3])
        if len(names) > 3:
            shown = say("{checks} and {count} more", checks=shown, count=len(names) - 3)
        return say("Checks of the sort '{name}': {checks}", name=key["id"], checks=shown)
    return _fault_name(key["fault"], key["build"], book)


def _fault_name(fault: str, build: str, book: Tables) -> str:
    """Return what a fault is called, and of which pianos it is told."""
    name = with_capital(_named(fault, book.faults))
    if not build:
        return name
    if build in KINDS:
        return say("{fault}, {pianos}", fault=name, pianos=say(build))
    rows = book.tiers if build.startswith("tier:") else book.features
    return say("{fault}, {pianos}", fault=name, pianos=_named(build.removeprefix("tier:"), rows))


def _named(id_: str, rows: Sequence[Any]) -> str:
    return next((say(row.name) for row in rows if row.id == id_), id_)


def family_name(family: str, book: Tables) -> str:
    """Return what a family of operations is called: its component, or the sort of work."""
    named = next((say(row.name) for row in book.components if row.id == family), None)
    return with_capital(named or (say(_WORK[family]) if family in _WORK else family))


def evidence(proposal: Proposal) -> str:
    """Return what a proposal rests on, and how far it moves what it changes."""
    if proposal.subject == "hours":
        told = say(
            "{ratio} times the tables' hours (9 in 10: {low} to {high}), from {jobs} jobs and {count} operations done",
            ratio=_two(proposal.ratio), low=_two(proposal.low), high=_two(proposal.high), jobs=proposal.jobs,
            count=proposal.observations,
        )  # fmt: skip
        if proposal.low is not None and proposal.high is not None and proposal.low <= 1 <= proposal.high:
            told = say("{told}; it may be no change at all", told=told)
        return told
    if proposal.subject == "setting":
        change = proposal.changes[0]
        return say(
            "{old} becomes {new} (9 in 10: {low} to {high}), from {jobs} jobs",
            old=_two(change.old), new=_two(float(change.new)), low=_two(change.low), high=_two(change.high),
            jobs=proposal.jobs,
        )  # fmt: skip
    if proposal.subject == "reading":
        return say(
            "from {count} findings, {shown} of them on faults whose truth teardown showed; the row that moves most "
            "moves by {moved}", count=proposal.observations, shown=proposal.shown, moved=percent(proposal.moved),
        )  # fmt: skip
    return say(
        "from {count} pianos, {shown} of them opened there; the row that moves most moves by {moved}",
        count=proposal.observations, shown=proposal.shown, moved=percent(proposal.moved),
    )  # fmt: skip


def changes_table(proposal: Proposal, book: Tables) -> str:
    """Return every cell that a proposal would change: as it stands, as it would be, and between which limits."""
    rows = [
        [_row_name(change, book), change.column, _two(change.old), _two(float(change.new)),
         f"{_two(change.low)} – {_two(change.high)}"]
        for change in proposal.changes[:_MOST_CHANGES]
    ]  # fmt: skip
    more = len(proposal.changes) - _MOST_CHANGES
    caption = say_many("{count} cell", "{count} cells", len(proposal.changes))
    if more > 0:
        caption = say("{cells}; the first {count}", cells=caption, count=_MOST_CHANGES)
    headers = [say("Row"), say("Column"), say("Now"), say("Then"), say("9 in 10")]
    return marks.table(caption, headers, rows, dense=True)


def _row_name(change: Change, book: Tables) -> str:
    key = dict(change.key)
    if change.table == "operations":
        name = next((say(row.name) for row in book.operations if row.id == key["id"]), key["id"])
        return f"{with_capital(name)} ({say(key['kinds'])})" if key["kinds"] != "both" else with_capital(name)
    if change.table == "cures":
        work, fault = _named(key["operation"], book.operations), _named(key["fault"], book.faults)
        return say("{work}, a piece: {fault}", work=with_capital(work), fault=fault)
    if change.table == "settings":
        return key["name"]
    if change.table == "fault_odds":
        return say("{fault}, {age} years", fault=_fault_name(key["fault"], key["build"], book), age=key["age"])
    return say("truly {severity}", severity=say(key["given"]))


def effects_table(effects: Sequence[Effect], currency: str) -> str:
    """Return what proposals would do to the evaluations that they move: the verdict, and the price of the work."""
    rows = [
        [
            effect.title,
            say("open") if effect.is_open else say("past"),
            _verdict(effect.verdict),
            say("the same") if not effect.turns else _verdict(effect.verdict_then),
            _verdict(effect.work) if effect.work else "–",
            _price(effect.price),
            _price(effect.price_then),
        ]
        for effect in effects
        if effect.turns or _price_moves(effect)
    ]
    headers = [
        say("Evaluation"),
        say("How it stands"),
        say("Verdict"),
        say("Verdict then"),
        say("Work"),
        say("Price"),
        say("Price then"),
    ]
    if not rows:
        return ""
    caption = say(
        "Those that move, the most moved first. The price is that of the better way with work, whether or not it is "
        "the verdict; money in {currency}, by the prices of the visit's day.",
        currency=currency,
    )
    return marks.table(caption, headers, rows, dense=True)


def effects_words(effects: Sequence[Effect]) -> str:
    """Return the effect in sentences."""
    turned = [effect for effect in effects if effect.turns]
    if turned:
        first = say(
            "Of the {count} newest evaluations {turned} would have another verdict, {open} of them still open.",
            count=len(effects), turned=len(turned), open=sum(effect.is_open for effect in turned),
        )  # fmt: skip
    else:
        first = say("None of the {count} newest evaluations would have another verdict.", count=len(effects))
    moved = [effect.moved for effect in effects if _price_moves(effect)]
    if not moved:
        return first
    second = say("Prices of work that move: {count}, the most by {most}.", count=len(moved), most=percent(max(moved)))
    return f"{first} {second}"


def _price_moves(effect: Effect) -> bool:
    """Tell whether the price moves as far as it is shown."""
    return _price(effect.price) != _price(effect.price_then)


def lacking(lesson: Lessons) -> list[str]:
    """Return what there is to learn from, and what more it takes."""
    return [
        say_many("{count} visit with findings.", "{count} visits with findings.", lesson.visits),
        say_many("{count} piano of them opened, with what teardown showed.",
                 "{count} pianos of them opened, with what teardown showed.", lesson.opened),
        say_many("{count} finished job with its hours.", "{count} finished jobs with their hours.", lesson.finished),
        *_by_state(lesson),
    ]  # fmt: skip


def _by_state(lesson: Lessons) -> list[str]:
    """Return how many pianos older records tell of by the state of whole parts alone."""
    if not lesson.by_state:
        return []
    return [
        say_many(
            "{count} more was opened, but its older record tells only how whole parts stood: nothing of single faults "
            "can be learned from it.",
            "{count} more were opened, but their older records tell only how whole parts stood: nothing of single "
            "faults can be learned from them.",
            lesson.by_state,
        )
    ]


def _verdict(option: str) -> str:
    return option_name(option) if option in _OPTIONS else option


def _price(price: float | None) -> str:
    return "–" if price is None else money(price)


def _two(value: float | None) -> str:
    return "–" if value is None else number(value)

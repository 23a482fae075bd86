"""What is said at the table, as data: every way by the same rows, chances, choices, what is not known, who says it.

A sheet of paper draws it and adds nothing; the screen at the table has the same facts in six steps, see
`valuation.report.talk`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from valuation.engine.adding import added
from valuation.engine.appraisal import Appraisal
from valuation.engine.pack import appraiser
from valuation.engine.prospects import ANOTHER, LET_GO, prospects
from valuation.engine.rows import HISTORY, SEVERITIES, STATES, Tables
from valuation.engine.study import Answer, Study
from valuation.facts.words import WAYS
from valuation.language import later, say, say_many
from valuation.report.case import WHOLE, Case
from valuation.report.chances import Chance, best_counts, chances
from valuation.report.client_words import listed, of_100, way_name, way_to_do
from valuation.report.fault_words import BAD, fault_sentence, recorded_bad
from valuation.report.format import money
from valuation.report.labels import day_words
from valuation.report.opening import Surprise, not_seen, surprises
from valuation.report.own_choices import Question, questions
from valuation.report.sides import Side, bad_sides, good_sides
from valuation.report.their_version import Versions, their_versions
from valuation.report.version_words import version_words
from valuation.report.ways import jobs_of, price_and_years, row_note, rows_of, worth_range
from valuation.report.wishes import Wishes
from valuation.report.words import NOT_YET, beside_the_verdict

_MOST_FAULTS = 6
"""So many faults are told one by one; the rest is counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way, told by the same rows as every other.

    Attributes
    ----------
    open : bool
        There is such a plan.
    price : str
        Price and good years on one line.
    worth : str
        What is owned afterwards is worth, from low to high.
    rows : dict of str to tuple of str
        Sentences by row of `valuation.report.ways.ROWS`.
    jobs : tuple of str
        Each job in plain words.
    """

    way: str
    name: str
    open: bool
    price: str
    worth: str
    rows: dict[str, tuple[str, ...]]
    good: tuple[Side, ...]
    bad: tuple[Side, ...]
    jobs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversation:
    """Everything that is said at the table, in the order in which it is said.

    `versions` has each way on which the piano stays as the client wants it, `of_versions` what is to be said of it.
    """

    first: tuple[str, ...]
    found: tuple[str, ...]
    part_names: tuple[tuple[str, str], ...]
    glossary: tuple[tuple[str, str], ...]
    ways: tuple[Way, ...]
    notes: dict[str, str]
    heart: tuple[str, ...]
    chances: tuple[Chance, ...]
    best: Chance
    unseen: tuple[str, ...]
    surprises: tuple[Surprise, ...]
    questions: tuple[Question, ...]
    versions: Versions
    of_versions: dict[str, tuple[str, ...]]
    by_hand: tuple[str, ...]
    advice: tuple[str, ...]
    holds_until: date
    holds: str
    who: tuple[str, ...]
    ask_others: tuple[str, ...]

    def way(self, name: str) -> Way:
        """Return one way."""
        return next(way for way in self.ways if way.way == name)


def conversation(
    study: Study,
    answer: Answer,
    found: Appraisal,
    wishes: Wishes,
    by_hand: Mapping[str, tuple[str, str]] | None = None,
) -> Conversation:
    """Return what is said at the table about one piano.

    Parameters
    ----------
    study, answer, found : Study, Answer, Appraisal
        Of the visit with what the client puts on it, see `valuation.report.wishes.visit_with`.
    wishes : Wishes
        What the client has said so far.
    by_hand : mapping of part to (level, reason), optional
        Levels that a person has set, and why.

    Returns
    -------
    Conversation
        Every way of `valuation.facts.words.WAYS`, in that order, whatever the wishes.
    """
    case = case_of(study, answer, found, wishes)
    versions = their_versions(study, answer, wishes)
    until = study.visit.on + timedelta(days=study.tables.settings.quote_days)
    return Conversation(
        first=case.first(),
        found=_found(case),
        part_names=tuple((part, case.part_name(part)) for part in case.parts),
        glossary=tuple((case.part_name(part), say(row.what)) for part, row in case.parts.items() if row.what),
        ways=tuple(_way(way, case) for way in WAYS),
        notes={row: note for row in ("price", "time", "after") if (note := row_note(row, case))},
        heart=_heart(case),
        chances=chances(case),
        best=best_counts(case),
        unseen=not_seen(case),
        surprises=surprises(case),
        questions=questions(case),
        versions=versions,
        of_versions={way: version_words(version, case) for way, version in versions.items()},
        by_hand=_by_hand(case, by_hand or {}),
        advice=advice(case),
        holds_until=until,
        holds=say("These figures hold until {day}.", day=day_words(until)),
        who=_who(case),
        ask_others=ask_others(study.tables),
    )


def case_of(study: Study, answer: Answer, found: Appraisal, wishes: Wishes) -> Case:
    """Return what everything for the client is told from; arguments as for `conversation`."""
    return Case(
        visit=study.visit,
        book=study.tables,
        found=found,
        prospects=prospects(study, answer),
        replacement=study.market.replacement,
        adds=lambda way, operation: _adds(study, answer, found, way, operation),
        wishes=wishes,
    )


def _adds(study: Study, answer: Answer, found: Appraisal, way: str, operation: str) -> float | None:
    option = found.option(way)
    more = None if option is None else added(study, answer, option, operation)
    return None if more is None else more.adds


def _way(way: str, case: Case) -> Way:
    return Way(
        way=way,
        name=way_name(way),
        open=way in case.prospects,
        price=price_and_years(way, case),
        worth=worth_range(way, case),
        rows=rows_of(way, case),
        good=good_sides(way, case),
        bad=bad_sides(way, case),
        jobs=jobs_of(way, case) if way in case.prospects else (),
    )


def _found(case: Case) -> tuple[str, ...]:
    """Say how the piano is, as far as anybody looked: what is wrong, the worst first, then what is in order.

    A part on which something marked or severe was found is never told to be in good order, whatever else was found.
    """
    parts = [part for part in case.found.parts if part.part != HISTORY and part.looked_at]
    wrong = [fault for part in parts for fault in part.faults if fault.checks and fault.severity in BAD]
    wrong.sort(key=lambda fault: (-STATES.index(fault.makes), -SEVERITIES.index(fault.severity)))
    said = list(dict.fromkeys(fault_sentence(fault) for fault in wrong))
    more = len(said) - _MOST_FAULTS
    said = said[:_MOST_FAULTS]
    if more > 0:
        said.append(say_many("And {count} fault more.", "And {count} faults more.", more))
    faulty = {part.part for part in parts if any(fault in wrong for fault in part.faults)}
    unclear = [part.part for part in parts if part.part not in faulty and recorded_bad(part)]
    if unclear:
        said.append(say("What we found does not agree: {parts}.", parts=listed(case.part_names(unclear))))
    rest = [part for part in parts if part.part != WHOLE and part.part not in faulty and part.part not in unclear]
    for states, text in ((("failed", "worn"), _WORN), (("serviceable",), _OLD), (("sound",), _GOOD)):
        here = [part.part for part in rest if part.state in states]
        if here:
            said.append(say(text, parts=listed(case.part_names(here))))
    return tuple(said)


_WORN = later("Worn, as such pianos are: {parts}.")
_OLD = later("Old, but still good enough: {parts}.")
_GOOD = later("In good order: {parts}.")


_WORTH_LESS = later("If to hear it is worth less than {amount} to you, this comes out best: {way}.")
_WORTH_MORE = later("If to hear it is worth more than {amount} to you, this comes out best: {way}.")


def _heart(case: Case) -> tuple[str, ...]:
    """Say what hearing this very piano would have to be worth for another way to come out best."""
    flip = next((flip for flip in case.found.flips if flip.driver == "to_hear"), None)
    if flip is None:
        return ()
    said = []
    for at, then, text in (
        (flip.below, flip.then_below, _WORTH_LESS),
        (flip.above, flip.then_above, _WORTH_MORE),
    ):
        if at is not None:
            said.append(say(text, amount=money(at, case.currency), way=way_to_do(_way_of(then, case))))
    return tuple(said) or (say("No sum that we tried changes which way comes out best."),)


def _way_of(option: str, case: Case) -> str:
    if option != "retire":
        return option
    retired = case.found.option("retire")
    return ANOTHER if retired is not None and retired.exchange else LET_GO


def _by_hand(case: Case, changes: Mapping[str, tuple[str, str]]) -> tuple[str, ...]:
    said = []
    for part, (level, reason) in changes.items():
        if part in case.parts:
            said.append(by_hand_words(case.part_name(part), level, reason))
    return tuple(said)


def by_hand_words(part: str, level: str, reason: str) -> str:
    """Return that a person has set the level of a part, and why; a missing reason is told as missing."""
    level = {"keep": say("keep"), "repair": say("repair"), "replace": say("replace")}[level]
    if not reason.strip():
        return say("{part}, {level}: changed by hand, no reason given", part=part, level=level)
    return say("{part}, {level}: changed by hand: {reason}", part=part, level=level, reason=reason.strip())


def advice(case: Case) -> tuple[str, ...]:
    """Say what the workshop would do, how sure it is, and that it gains by it; told when it is asked for."""
    found = case.found
    if not found.ready:
        return (say(NOT_YET), say("We have not seen enough to advise you."))
    first, second = _way_of(found.verdict, case), _way_of(found.next_option, case)
    if first == second:
        said = [say("We would {way}. No other way is open.", way=way_to_do(first))]
    elif found.clarity == "close":
        said = [
            say(
                "We are not sure. Two ways come out nearly the same: {first}, or {second}.",
                first=way_to_do(first),
                second=way_to_do(second),
            )
        ]
    else:
        ways = {"first": way_to_do(first), "second": way_to_do(second)}
        said = [
            say("We would {first}. In every case that we worked through it comes out better than the next best: "
                "{second}.", **ways)
            if found.beats_next >= 1
            else say("We would {first}. In {count} of 100 cases that comes out better than the next best: {second}.",
                     count=of_100(found.beats_next), **ways)
        ]  # fmt: skip
    said += beside_the_verdict(found)
    said.append(say("That counts money, years of playing and what you said. It can't count what you feel."))
    said.append(say("We earn money with repairs and rebuilds. Keep that in mind."))
    return tuple(said)


def _who(case: Case) -> tuple[str, ...]:
    on = day_words(case.visit.on)
    said = [say("This was looked at on {day}. Prices are of the same day.", day=on)]
    said.append(say("This workshop also sells the work told of here."))
    if case.found.price_basis == "band table":
        said.append(say("What pianos fetch comes from our own list of prices, not from a certified value."))
    else:
        said.append(say("What pianos fetch comes from our own list of prices and from sales we know of."))
    said.append(say("For tax, insurance or court ask: {appraiser}.", appraiser=appraiser(case.book)))
    return tuple(said)


def ask_others(tables: Tables) -> tuple[str, ...]:
    """Return who else can be asked."""
    return (
        say("Another workshop that rebuilds pianos."),
        say("A tuner who sells no rebuilds."),
        say("For a value on paper: {appraiser}.", appraiser=appraiser(tables)),
        say("Whoever will play it."),
    )

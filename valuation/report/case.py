"""What every page for a client is told from: the visit, the tables, the appraisal, the ways and the wishes."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.money import tax_of
from valuation.engine.prospects import LET_GO, Prospect
from valuation.engine.rows import CautionRow, OperationRow, PartRow, ReplacementRow, Tables
from valuation.facts.visit import Range, Visit
from valuation.language import say
from valuation.report.fault_words import BAD, fault_sentence, stop_sentences
from valuation.report.quote import Quote, quote_of
from valuation.report.wishes import Wishes

PLAYS_WELL, PLAYS_WITH_FAULTS, PLAYS_POORLY = 0.85, 0.6, 0.2
"""From so much of a good piano's playing on, it is told to play well, with faults, poorly; below, hardly [-].
The words follow `plays` of ``replacements.csv``: a sound ordinary piano stands there at 0.85."""

FELT_FROM = 0.93
"""A part is named as a fault where it takes the playing below this [-]."""

_MOST_FAULTS = 2
_LEVELS = ("keep", "repair", "replace")

WHOLE = "whole"
"""The part that stands for all of the piano: it has no place in a list of parts."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """One piano at the table.

    Attributes
    ----------
    prospects : mapping of way to Prospect
        The ways that are open; see `valuation.engine.prospects`.
    replacement : ReplacementRow
        The honest alternative: another instrument of like use.
    adds : callable
        ``adds(way, operation)``: what an operation more does to the price of a way, None where it can't be had.
    """

    visit: Visit
    book: Tables
    found: Appraisal
    prospects: Mapping[str, Prospect]
    replacement: ReplacementRow
    adds: Callable[[str, str], float | None]
    wishes: Wishes = field(default_factory=Wishes)

    @property
    def currency(self) -> str:
        """The shop's money."""
        return self.found.currency

    @property
    def operations(self) -> dict[str, OperationRow]:
        """The operations for this kind of piano, by id."""
        return self.book.of_kind("operations", self.visit.piano.kind)

    @property
    def parts(self) -> dict[str, PartRow]:
        """The parts of this piano, by id."""
        here = {part.part for part in self.found.parts}
        return {row.id: row for row in self.book.parts if row.id in here}

    def first(self) -> tuple[str, ...]:
        """Return what must be said of this piano before all else: what must not be done, then what else was found."""
        stopping = {fault for faults in self.found.stops.values() for fault in faults}
        told = [row.plain for row in self._cautions() if row.plain and row.fault and row.fault not in stopping]
        return (*stop_sentences(self.found), *(say(text) for text in dict.fromkeys(told)))

    def of_law(self) -> tuple[str, ...]:
        """Return what holds for the way it is built, such as for ivory, each once."""
        told = [row.plain for row in self._cautions() if row.feature and row.plain]
        return tuple(say(text) for text in dict.fromkeys(told))

    def _cautions(self) -> list[CautionRow]:
        rows = {row.id: row for row in self.book.cautions}
        return [rows[caution.caution] for caution in self.found.cautions]

    def planned(self, way: str) -> OptionResult:
        """Return the option behind a way on which the piano stays; raises KeyError for one on which it goes."""
        option = self.option(way)
        if option is None:
            raise KeyError(way)
        return option

    @property
    def proceeds(self) -> Range:
        """What letting it go brings in, below 0 where it costs, in money."""
        proceeds = self.prospects[LET_GO].proceeds
        assert proceeds is not None, "letting it go always says what it brings"
        return proceeds

    def option(self, way: str) -> OptionResult | None:
        """Return the option behind a way with or without work; None for a way on which the piano goes."""
        return self.found.option(way)

    def quote(self, way: str) -> Quote | None:
        """Return the lines and the price of a way, as they are signed; None for a way on which the piano goes."""
        option = self.option(way)
        return None if option is None else quote_of(option, tax_of(self.book, self.found.on))

    def price_of(self, way: str) -> float:
        """Return what is signed for a way, with tax; where the piano goes, what that is expected to cost."""
        quote = self.quote(way)
        return float(quote.total) if quote is not None else self.prospects[way].expected_price

    def part_names(self, parts) -> list[str]:
        """Return the names of parts."""
        return [self.part_name(part) for part in parts if part in self.parts]

    def part_name(self, part: str) -> str:
        """Return the name of a part for the client, the workshop's where the table has no other."""
        row = self.parts[part]
        return say(row.called or row.name)

    def looked_at(self, part: str) -> bool:
        """Tell whether anybody has looked at a part."""
        return any(row.part == part and row.looked_at for row in self.found.parts)

    def mostly_unseen(self) -> bool:
        """Tell whether most parts that matter to playing were not looked at."""
        matter = [row.id for row in self.parts.values() if row.play_failed < PLAYS_WITH_FAULTS]
        return sum(self.looked_at(part) for part in matter) < len(matter) / 2

    def faulty(self, way: str) -> list[str]:
        """Return the parts that were looked at, and that a way leaves as they are and in the way of playing."""
        left = self.levels(way)["keep"]
        worst = [part for part, plays in self.prospects[way].parts_played if plays < FELT_FROM]
        return [part for part in worst if part in left and self.looked_at(part)]

    def faults(self, way: str) -> list[str]:
        """Return what is wrong with the worst of them, a sentence each."""
        by_part = {part.part: part for part in self.found.parts}
        worst = [by_part[part].faults[0] for part in self.faulty(way) if by_part[part].faults]
        return [fault_sentence(fault) for fault in worst if fault.severity in BAD][:_MOST_FAULTS]

    def levels(self, way: str) -> dict[str, list[str]]:
        """Return the parts that a way keeps, repairs and replaces."""
        option = self.option(way)
        plan = option.plan if option else {}
        things = {part: word for part, word in plan.items() if part != WHOLE}
        return {level: [part for part, word in things.items() if word == level] for level in _LEVELS}

    def bench_hours(self, way: str) -> tuple[float, float]:
        """Return the hours of a way at the client's home, and away from it [h]."""
        option = self.option(way)
        home = away = 0.0
        for line in option.lines if option else ():
            if self.operations[line.operation].where == self.book.settings.visit_rate:
                home += line.hours
            else:
                away += line.hours
        return home, away

    def weeks_away(self, way: str) -> int:
        """Return for how many weeks the piano, or its action, is away, once the work has begun."""
        _, away = self.bench_hours(way)
        return math.ceil(away / self.book.settings.bench_hours_week) if away else 0

    def finish_level(self, way: str) -> str:
        """Return what a way does with the case: keep, repair or replace."""
        option = self.option(way)
        wanted = {row.operation for row in self.book.choices if row.question == "finish" and row.operation}
        parts = {self.operations[o].part for o in wanted if o in self.operations}
        return next((option.plan[part] for part in parts if option and part in option.plan), "keep")

"""Made-up pianos with made-up choices, and what must hold of each version that comes of them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from itertools import groupby

import numpy as np

from tests.random_visits import ON, random_visit
from valuation.engine.appraise import report
from valuation.engine.rows import QUESTIONS, Tables
from valuation.engine.study import Answer, Study, decide_at, study_of
from valuation.report.client_words import of_100
from valuation.report.document import Document, Grid
from valuation.report.format import cents
from valuation.report.quote import IfFound
from valuation.report.talk.as_wanted import as_wanted
from valuation.report.talk.where_you_stand import version_of
from valuation.report.their_version import STAYS, NoVersion, TheirVersion, planned_anew, their_version
from valuation.report.wishes import Wishes, with_wish
from valuation.service.papers import occasion_of, paper_content

CENT = Decimal("0.01")


def random_wishes(study: Study, rng: np.random.Generator) -> Wishes:
    """Return any choices: of each question any answer or none, and up to two parts that are to stay."""
    wishes = Wishes()
    for question in QUESTIONS:
        answers = [row.id for row in study.tables.choices if row.question == question]
        if rng.random() < 0.5:
            wishes = with_wish(wishes, question, str(rng.choice(answers)))
    parts = [part.id for part in study.condition.network.parts]
    stay = rng.choice(parts, size=int(rng.integers(0, 3)), replace=False)
    return with_wish(wishes, "left_original", [str(part) for part in stay])


def random_case(tables: Tables, rng: np.random.Generator) -> tuple[Study, Answer, Wishes]:
    """Return a piano, decided, and what its client wants."""
    study = study_of(random_visit(tables, rng), tables, on=ON, draws=1024)
    return study, decide_at(study), random_wishes(study, rng)


def check_versions(study: Study, answer: Answer, wishes: Wishes) -> int:
    """Hold all that must hold of the three versions of a piano; return how many there are."""
    made = 0
    for way in STAYS:
        version = their_version(study, answer, wishes, way)
        if isinstance(version, NoVersion):
            assert way != "keep", "to keep it stays a way, whatever they wish"
            continue
        made += 1
        left, _ = planned_anew(study, answer, wishes)
        check_sums(version, left)
        check_found(version, left)
        check_wishes(version, left, wishes)
    return made


def check_sums(version: TheirVersion, study: Study) -> None:
    """The fixed lines add up to the cent, the tax is the rate of the sum, the most is what is shown."""
    quote, tax = version.quote, study.prices.tax
    assert quote.before_tax == sum((line.amount for line in quote.lines), Decimal(0))
    for line in quote.lines:
        assert line.amount == line.labour + line.materials + line.outside
        assert abs(float(line.labour) - line.line.labour) <= 0.5
        assert abs(float(line.amount) - line.line.amount) <= 1.5
    rate = Decimal(str(tax.labour))
    assert tax.labour == tax.material == tax.outside, "one rate here; tests/unit/engine/test_tax.py has several"
    assert quote.tax == (quote.before_tax * rate).quantize(CENT, ROUND_HALF_UP)
    assert quote.total == quote.before_tax + quote.tax
    assert quote.total == quote.total.quantize(CENT)
    for line in quote.if_found:
        assert line.price == line.before_tax + (line.before_tax * rate).quantize(CENT, ROUND_HALF_UP)
    assert quote.most == quote.total + at_most(quote.if_found)


def check_found(version: TheirVersion, study: Study) -> None:
    """Each if-found line has its fault, of its own part, and is called for no more often than one of them is there."""
    condition = study.condition
    network, chosen = condition.network, {line.line.operation for line in version.quote.lines if line.chosen}
    for line in version.quote.if_found:
        found = line.allowance
        assert found.faults
        assert found.operation not in chosen
        there = []
        for fault in found.faults:
            f = network.index[fault]
            assert network.faults[f].part == found.part
            assert network.faults[f].plain or network.faults[f].name
            there.append(1 - condition.severities[f, 0])
        settings = study.tables.settings
        assert settings.likely_from <= found.chance < settings.fixed_from
        if not found.large:
            assert found.chance <= min(sum(there), 1) + 1e-9


def check_wishes(version: TheirVersion, study: Study, wishes: Wishes) -> None:
    """Nothing is done, nor may be found to do, to what stays; nothing declined is in it; what was asked is, or told."""
    operations = study.catalogue.operations
    worked = {line.line.operation for line in version.quote.lines} | {
        line.allowance.operation for line in version.quote.if_found
    }
    rows = {row.id: row for row in study.tables.choices}
    features = study.visit.piano.features
    chosen = [rows[name] for question in QUESTIONS if (name := wishes.chosen(question))]
    chosen = [row for row in chosen if not row.feature or row.feature in features]
    asked = {row.operation for row in chosen}
    assert not worked & ({name for row in chosen for name in row.declines} - asked)
    assert not {operations[name].part for name in worked} & set(version.left)
    told = {row.id for row in (*version.asked, *version.not_in_price, *version.against_wish)}
    assert told == {row.id for row in chosen if not row.free}
    covered = {name for operation in worked for name in operations[operation].covers}
    assert all(row.operation in worked | covered for row in version.asked)


def check_papers(study: Study, answer: Answer, wishes: Wishes) -> int:
    """Hold every quotation against the page at the table and against its own sums; return how many there are."""
    found = report(study, answer)
    if not found.ready:
        return 0
    occasion = occasion_of(study, written_on=study.visit.on, answer=answer, appraisal=found, wishes=wishes)
    wanted, made = as_wanted(study, answer, found, wishes), 0
    for way in STAYS:
        option, version = found.option(way), occasion.told.versions[way]
        if option is None or not option.lines or isinstance(version, NoVersion):
            continue
        made += 1
        content = paper_content("quotation", study, found, occasion, option=way)
        page = version_of(way, wanted)
        total, most = check_paper(content, version, study.tables.settings.asked_from)
        assert page.price == f"{cents(total)} {found.currency}"
        assert (f"{cents(most)} {found.currency}" in page.most) == (most > total)
        assert len(page.finds) + len(page.further) == len(version.quote.if_found)
    return made


def check_paper(content: Document, version: TheirVersion, share: float) -> tuple[Decimal, Decimal]:
    """Hold that whoever adds up what is printed gets the total printed; return the total, and the most.

    If-found lines of which less than a share of the total is to be expected are named below the others, each with its
    price; they may be answered together.
    """
    tables = [block for section in content.sections for block in section.blocks if isinstance(block, Grid)]
    fixed = next(table for table in tables if table.style == "lines")
    *lines, before_tax, tax, total = (amount(row[-1]) for row in fixed.rows)
    assert sum(lines, Decimal(0)) == before_tax
    assert tax == (before_tax * Decimal(str(version.quote.taxed.labour))).quantize(CENT, ROUND_HALF_UP)
    assert total == before_tax + tax == version.quote.total
    if not version.quote.if_found:
        assert tables == [fixed]
        return total, total
    answers = next(table for table in tables if table.style == "answers")
    *rows, last = answers.rows
    below = [table.rows for table in tables if table not in (fixed, answers)]
    little = [line for line in version.quote.if_found if line.allowance.expected < share * float(total)]
    assert bool(below) == (len(little) > 1)
    if below:
        *rows, together = rows
        assert [row[0] for row in below[0]] == [str(len(rows) + i) for i in range(1, len(little) + 1)]
        assert [amount(row[3]) for row in below[0]] == [line.price for line in little]
        assert amount(together[3]) == at_most(little)
        assert together[4], "small ones may have one answer together"
    for row, line in zip((*rows, *(below[0] if below else ())), version.quote.if_found, strict=True):
        assert row[1].split("\n")[0], "what would be seen is named"
        assert row[2] == str(of_100(line.allowance.chance))
        assert amount(row[3]) == line.price
    assert all(row[4] for row in (*rows, *(below[0] if below else ()))), "each has its own answer"
    assert at_most(version.quote.if_found) == amount(last[3])
    assert total + amount(last[3]) == version.quote.most
    return total, version.quote.most


def at_most(lines: Sequence[IfFound]) -> Decimal:
    """All of them but, of the larger works on one part, every one that another there is as dear as."""
    every, large = [line.price for line in lines], [line for line in lines if line.allowance.large]
    by_part = groupby(sorted(large, key=part_and_price), key=lambda line: line.allowance.part)
    never = [line.price for _, of_part in by_part for line in list(of_part)[:-1]]
    return sum(every, Decimal(0)) - sum(never, Decimal(0))


def part_and_price(line: IfFound) -> tuple[str, Decimal]:
    return line.allowance.part, line.price


def amount(cell: str) -> Decimal:
    return Decimal(cell.replace(",", ""))

"""What other tables would do to the shop's evaluations, open and past, before they are in force.

Nothing of it is stored. A paper that a client holds stays what it is, whatever the tables say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from valuation import service
from valuation.engine.decision import Decision
from valuation.engine.lines import repairs_of
from valuation.engine.next_looks import readiness_of
from valuation.engine.rows import Tables
from valuation.engine.study import Answer, Study, decide_at, study_of
from valuation.facts.errors import NotInForce
from valuation.facts.visit import Visit
from valuation.files.recorded_visit import RecordedVisit, to_visit
from valuation.files.set_levels import allowed_levels
from valuation.jobs.recorded_job import RecordedJob, to_recorded_job
from valuation.jobs.stages import OPEN
from valuation.record import Paper, by_visit
from valuation.report.effect_words import effect_sentences
from valuation.service.shop_tables import BROUGHT, history, tables_of_change
from valuation.service.visits import Shop
from valuation.store import job_lines, papers

__all__ = ["Effect", "Looked", "effect", "effects_of", "in_sentences", "known", "look", "of_brought"]

WITH_WORK = ("rebuild", "partial_repair")

MOST = 40
"""So many evaluations are worked out at most; each takes some tenths of a second."""

A_YEAR = timedelta(days=365)

MAY_WELL = 0.05
"""Work that is less likely to be needed is no news where it comes or goes [-]."""

_LEVEL = "pin."

KNOWN = ("7_well_kept_upright.toml", "3_school_upright.toml", "1_fine_old_grand.toml")
"""Files of three invented pianos, one for each way with work or without."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What other tables would do to one evaluation.

    Attributes
    ----------
    is_open : bool
        The client has not decided yet.
    verdict, verdict_then : str
        The option that comes out best, as it is and as it would be.
    work : str
        The way whose price is compared: the one quoted, else the better of the two with work; empty where there is
        none.
    price, price_then : float or None
        Its expected price with either tables, tax included, in money.
    gone, come : tuple of str
        Operations that its plan would lose, and gain.
    quoted : str
        Number of the quotation that is out; empty where there is none.
    quoted_on : date or None
        Its day.
    """

    visit: str
    title: str
    is_open: bool
    verdict: str
    verdict_then: str
    work: str
    price: float | None
    price_then: float | None
    gone: tuple[str, ...] = ()
    come: tuple[str, ...] = ()
    quoted: str = ""
    quoted_on: date | None = None

    @property
    def turns(self) -> bool:
        """Whether the verdict would be another one."""
        return self.verdict != self.verdict_then

    @property
    def share(self) -> float:
        """By what share the price of the work would move, up or down [-]; 0 where there is none to move."""
        return self.price_then / self.price - 1 if self.price and self.price_then is not None else 0.0

    @property
    def moved(self) -> float:
        """How far that is, whichever way [-]."""
        return abs(self.share)


@dataclass(frozen=True, slots=True)
class _Decided:
    study: Study
    answer: Answer
    decision: Decision


@dataclass(frozen=True, kw_only=True, eq=False)
class Looked:
    """Evaluations on which the effect of other tables is shown.

    Attributes
    ----------
    visits : tuple of (RecordedVisit, RecordedJob)
        Those with an open quotation first, then the newest.
    quotations : dict of visit to Paper
        The last quotation of each whose client has not decided yet.
    left_out : int
        Evaluations of the last year that are not among them, since there are too many.
    invented : bool
        They are those of the demo, since the shop has none of its own.
    """

    visits: tuple[tuple[RecordedVisit, RecordedJob], ...]
    quotations: dict[str, Paper] = field(default_factory=dict)
    left_out: int = 0
    invented: bool = False


def look(shop: Shop, book: Tables, on: date) -> Looked:
    """Return the evaluations on which an effect is shown: all with an open quotation, and those of the last year."""
    with shop.store.reading() as connection:
        quoted = papers.last_quotations(connection)
        own = job_lines.newest_visits(connection, demo=False, most=MOST * 5)
        names = own or job_lines.newest_visits(connection, demo=True, most=MOST)
        names = list(dict.fromkeys([*(name for name in quoted if name in set(names)), *names]))
        entries = job_lines.entries_of_jobs(connection, names, ())
        found = {
            name: (to_visit(of_it, book), to_recorded_job(of_it, book, on=on)) for name, of_it in by_visit(entries)
        }
    told = [found[name] for name in names if name in found]
    drawn = [(visit, job) for visit, job in told if visit.can_be_drawn and visit.visit.findings]
    wanted = [(v, j) for v, j in drawn if v.visit.on >= on - A_YEAR or (v.id in quoted and _is_open(j))]
    open_ones = {v.id: quoted[v.id] for v, j in wanted if v.id in quoted and _is_open(j)}
    wanted.sort(key=lambda pair: pair[0].id not in open_ones)
    return Looked(
        visits=tuple(wanted[:MOST]),
        quotations=open_ones,
        left_out=len(wanted[MOST:]),
        invented=not own and bool(names),
    )


def effects_of(looked: Looked, now: Tables, then: Tables, on: date) -> Iterator[Effect | None]:
    """Yield what other tables would do to each evaluation, priced on one day; None where nothing can be decided."""
    for recorded, job in looked.visits:
        yield effect(recorded, job, now, then, (on,), looked.quotations.get(recorded.id))


def of_brought(shop: Shop, on: date) -> tuple[Effect, ...]:
    """Return what the tables that the last import brought would do to each evaluation, were they in force."""
    brought = [change for change in history(shop.store) if change.state == BROUGHT]
    seen = shop.tables_in_force(on)
    if not brought or brought[-1].hash == seen.tables.hash:
        return ()
    then, _ = tables_of_change(shop.store, brought[-1])
    found = (one for one in effects_of(look(shop, seen.tables, on), seen.tables, then, on) if one)
    return tuple(sorted(found, key=lambda one: (not one.turns, -one.moved)))


def in_sentences(found: Sequence[Effect]) -> str:
    """Return effects in two sentences; nothing where there are none."""
    return effect_sentences(len(found), sum(one.turns for one in found), [one.share for one in found]) if found else ""


def known(now: Tables, then: Tables, on: date) -> tuple[Effect, ...]:
    """Return what other tables would do to three known pianos, which are invented."""
    visits = (service.read_visit_file(service.DEMO / name, service.load_shop(), date.max) for name in KNOWN)
    return tuple(found for visit in visits if (found := _compared(visit, {}, now, then, (on,))))


def effect(
    recorded: RecordedVisit,
    job: RecordedJob,
    now: Tables,
    then: Tables,
    days: Sequence[date],
    quotation: Paper | None = None,
) -> Effect | None:
    """Return what other tables would do to one evaluation.

    Parameters
    ----------
    now, then : Tables
        Those in force, and the others.
    days : sequence of date
        The first of them for which the tables hold prices counts.
    quotation : Paper, optional
        The one that is out.

    Returns
    -------
    Effect or None
        None where neither day has prices, and where nothing can be decided yet: too little has been looked at.
    """
    levels = {
        name.removeprefix(_LEVEL): entry.value
        for name, entry in recorded.counted.items()
        if name.startswith(_LEVEL) and isinstance(entry.value, str)
    }
    found = _compared(recorded.visit, levels, now, then, days, quotation.option if quotation else "")
    if found is None:
        return None
    found = replace(found, visit=recorded.id, is_open=_is_open(job))
    return replace(found, quoted=quotation.printed_number, quoted_on=quotation.written_on) if quotation else found


def _compared(
    visit: Visit, levels: Mapping[str, str], now: Tables, then: Tables, days: Sequence[date], quoted: str = ""
) -> Effect | None:
    before, after = (_decided(visit, levels, tables, days) for tables in (now, then))
    if before is None or after is None:
        return None
    nets = before.decision.nets
    best = max((option for option in WITH_WORK if option in nets), key=nets.__getitem__, default="")
    work = quoted if quoted in before.decision.best else best
    was, would = (_planned(decided, work) for decided in (before, after))
    return Effect(
        visit="",
        title=visit.title,
        is_open=False,
        verdict=before.decision.verdict,
        verdict_then=after.decision.verdict,
        work=work,
        price=_price(before.decision, work),
        price_then=_price(after.decision, work),
        gone=tuple(sorted(was - would)),
        come=tuple(sorted(would - was)),
    )


def _planned(decided: _Decided, option: str) -> set[str]:
    """Return the operations of an option: what is done whatever is found, and what may well be."""
    scope = decided.decision.best.get(option)
    if scope is None:
        return set()
    found = repairs_of(decided.study.catalogue, decided.answer.bench, decided.study.prices, scope, MAY_WELL)
    return set(scope.operations) | {repair.operation for repair in found if repair.fixed or repair.chance >= MAY_WELL}


def _is_open(job: RecordedJob) -> bool:
    return job.course is None or job.course.outcome == OPEN


def _price(decision: Decision, work: str) -> float | None:
    scope = decision.best.get(work)
    return None if scope is None else scope.price


def _decided(visit: Visit, levels: Mapping[str, str], tables: Tables, days: Sequence[date]) -> _Decided | None:
    checks = tables.of_kind("checks", visit.piano.kind)
    visit = replace(visit, findings=tuple(finding for finding in visit.findings if finding.check in checks))
    set_levels = allowed_levels(levels, visit, tables)
    for on in days:
        try:
            study = study_of(visit, tables, on=on, set_levels=set_levels)
        except NotInForce:
            continue
        if not readiness_of(study).ready:
            return None
        answer = decide_at(study)
        return _Decided(study, answer, answer.decision)
    return None

"""How far each figure of the tables moves verdicts, over usual pianos: by finding all plans anew with it turned.

    .venv/bin/python -m tests.figure_sensitivity --out valuation/tables/figures.csv
    .venv/bin/python -m tests.figure_sensitivity --by-force 200 --out tests/reference/figures_by_force.csv

A figure is turned as far as it is unsure: what is invented by half, what is from memory or the shop's own estimate by
three tenths, odds to twice as many. Nothing is published on that; the turns are from memory.
"""

from __future__ import annotations

import argparse
import csv
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from random_visits import live

from valuation.engine.condition import assess
from valuation.engine.figures import asked_row, places, table_of, turned_cells
from valuation.engine.market import look_up
from valuation.engine.money import prices_of
from valuation.engine.rows import Tables
from valuation.engine.stakes import stakes_of
from valuation.engine.study import Answer, Figures, Study, decide_at, study_of
from valuation.facts.visit import Client, Piano, Visit
from valuation.rules.load import load_tables

SETTINGS = ("discount_rate", "value_loss_per_year", "selling_cost", "playing_worth")
"""Settings that a shop can judge and that move verdicts in money."""

ON = date(2026, 5, 4)
BY_HALF, BY_THREE_TENTHS, TWICE = 1.5, 1.3, 2.0
SHIPPED, _MORE = 30, 20
FEW = 0.02
"""Share of the pianos that are left out of an average, those where a figure moves most."""

BY_FORCE_SEED = 77


def figures_of(tables: Tables) -> Iterator[tuple[str, str]]:
    """Yield (kind, of) of every figure that the tables hold, ranked or not."""
    yield from (("rates", name) for name in dict.fromkeys(row.id for row in tables.rates))
    yield from (("hours", name) for name in dict.fromkeys(row.id for row in tables.operations if row.hours_likely > 0))
    yield from (("materials", name) for name in dict.fromkeys(row.id for row in tables.materials))
    yield from (("bands", kind) for kind in dict.fromkeys(row.kind for row in tables.bands))
    yield from (
        ("replacements", f"{kind}/{tier}")
        for kind, tier in dict.fromkeys((r.kind, r.tier) for r in tables.replacements)
    )
    yield from (("haul_away", kind) for kind in dict.fromkeys(row.kind for row in tables.replacements))
    yield from (("odds", name) for name in dict.fromkeys(row.fault for row in tables.fault_odds if not row.build))
    yield from (("settings", name) for name in SETTINGS)
    yield from (("years", row.id) for row in tables.parts if row.years_sound > 0)


def turned(tables: Tables, kind: str, of: str, factor: float, on: date) -> Tables:
    """Return the tables with a figure turned by a factor; unchecked, to reckon with."""
    if kind == "settings":
        return replace(tables, settings=replace(tables.settings, **{of: factor * getattr(tables.settings, of)}))
    rows = list(getattr(tables, table_of(kind)))
    for at in places(tables, kind, of, on):
        rows[at] = replace(rows[at], **turned_cells(rows[at], kind, factor))
    changed: dict[str, Any] = {table_of(kind): tuple(rows)}
    return replace(tables, **changed)


@dataclass(frozen=True)
class Moved:
    """What turning a figure does to one piano: the lead of the verdict moves by so much, and whether it turns."""

    lead: float
    turns: bool


def usual_pianos(tables: Tables, count: int, seed: int) -> list[Visit]:
    """Return usual pianos as their visits find them: mostly uprights of about the usual year, of the usual tier."""
    rng = np.random.default_rng(seed)
    visits = []
    for i in range(count):
        kind = "upright" if rng.random() < 0.75 else "grand"
        year = int(np.clip(rng.normal(tables.settings.usual_year + 8, 22), 1860, 2000))
        tier = str(rng.choice(["plain", "ordinary", "good"], p=[0.25, 0.5, 0.25])) if kind == "upright" else "good"
        piano = Piano(kind=kind, year=year, tier=tier if tier in {row.id for row in tables.tiers} else "")
        lived = live(tables, piano, 1, rng, made=float(rng.choice([0.3, 0.6, 0.9])))
        hear = float(rng.choice([0, 1000, 4000]))
        visits.append(replace(lived.visit(0, rng, Client(wants_to_play=True, to_hear=hear)), title=f"usual {i}"))
    return visits


def turn_of(tables: Tables, kind: str, of: str) -> float:
    """Return by how much a figure is turned."""
    if kind == "odds":
        return TWICE
    name = tables.setting_sources[of] if kind == "settings" else asked_row(tables, kind, of, ON).source
    source = next(row for row in tables.sources if row.id == name)
    return BY_HALF if source.kind == "invented" else BY_THREE_TENTHS


def at(study: Study, tables: Tables, kind: str) -> Answer:
    """Return a piano decided anew with other tables: all plans are searched for, the choices among them are the same.

    What a figure can't touch stays: which ladders a part has hangs on no figure that is asked.
    """
    priced = study.catalogue
    if kind == "hours":
        changed = {row.id: row for row in tables.of_kind("operations", study.visit.piano.kind).values()}
        operations = {name: changed[name] for name in priced.operations}
        priced = replace(priced, access=replace(priced.access, operations=operations))
    condition = assess(tables, study.visit, ON) if kind in ("odds", "years") else study.condition
    market = look_up(tables, study.visit.piano, condition.network.parts, ON, study.visit.finished_value, None)
    then = replace(
        study,
        tables=tables,
        condition=condition,
        prices=prices_of(tables, priced, ON),
        market=market,
        figures=Figures(stakes=stakes_of(tables.settings, study.visit.client, market), set_levels={}),
    )
    return decide_at(then)


def lead(answer: Answer, option: str) -> float:
    """Return by how much a way leads the best of the others."""
    decision = answer.decision
    others = [net for name, net in decision.nets.items() if name != option]
    return decision.nets.get(option, -math.inf) - max(others)


def moved_by(study: Study, base: Answer, kind: str, of: str, factors: Iterable[float]) -> Moved:
    """Return what turning a figure by each factor does at most."""
    verdict, here, most, turns = base.decision.verdict, lead(base, base.decision.verdict), 0.0, False
    for factor in factors:
        then = at(study, turned(study.tables, kind, of, factor, ON), kind)
        most = max(most, abs(lead(then, verdict) - here) if verdict in then.decision.nets else abs(here))
        turns |= then.decision.verdict != verdict
    return Moved(lead=most, turns=turns)


def can_matter(study: Study, answer: Answer, kind: str, of: str) -> bool:
    """Tell whether a figure can move the lead at today's plans: work that no plan holds has no price to move."""
    piano = study.visit.piano
    match kind:
        case "rates" | "settings":
            return True
        case "bands" | "haul_away":
            return of == piano.kind
        case "replacements":
            return of == f"{study.market.replacement.kind}/{study.market.replacement.tier}"
        case "hours" | "materials":
            held = _held(study, answer)
            rows = study.catalogue.operations
            if kind == "hours":
                return of in held
            cures = [row for row in study.catalogue.cures if row.operation in held]
            used = (*(rows[name].materials for name in held), *(row.piece_materials for row in cures))
            return any(item.material == of for items in used for item in items)
        case "odds":
            return of in study.condition.network.index
        case _:
            return of in study.condition.network.part_index


def _held(study: Study, answer: Answer) -> set[str]:
    names: set[str] = set(study.usual)
    for scope in answer.decision.best.values():
        names |= set(scope.operations)
        for menu, n in zip(answer.bench.weighed, scope.plan.choices, strict=True):
            for rung in menu.menu.ladders[n].rungs:
                names |= {rung.operation, *rung.further} - {""}
            cures = answer.bench.repairs(menu.menu.part, n)
            names |= {study.catalogue.cures[cure].operation for cure in cures}
    return names


def of_one(
    tables: Tables, visit: Visit, figures: Sequence[tuple[str, str]], *, both: bool, quick: bool = False
) -> list[Moved]:
    """Return what each figure does to one piano turned up, or up and down; quick: only where today's plans hold it."""
    study = study_of(visit, tables, on=ON)
    base = decide_at(study)
    found = []
    for kind, of in figures:
        if quick and not can_matter(study, base, kind, of):
            found.append(Moved(lead=0.0, turns=False))
            continue
        by = turn_of(tables, kind, of)
        found.append(moved_by(study, base, kind, of, (by, 1 / by) if both else (by,)))
    return found


def over_pianos(
    tables: Tables, visits: Sequence[Visit], figures: Sequence[tuple[str, str]], *, both: bool, quick: bool = False
) -> list[tuple[float, float]]:
    """Return for each figure how far it moves the lead on the average, and of 100 pianos how many it turns."""
    rows = [of_one(tables, visit, figures, both=both, quick=quick) for visit in visits]
    return [
        (usual_move([m.lead for m in column]), 100 * float(np.mean([m.turns for m in column])))
        for column in zip(*rows, strict=True)
    ]


def usual_move(leads: Sequence[float]) -> float:
    """Return the average of how far a figure moves leads, less the few pianos where it moves most.

    On one piano in a hundred a plan falls away as soon as a figure is turned, and its lead jumps by thousands: with it
    the average of 200 pianos hung on which of them were drawn, and two draws ranked the figures differently.
    """
    return float(np.mean(np.sort(leads)[: len(leads) - math.ceil(FEW * len(leads))]))


def rank(tables: Tables, pianos: int, again: int) -> list[tuple[str, str, float, float]]:
    """Return the figures that move verdicts farthest: all over some pianos, then the first of them over more.

    Only where today's plans hold what they price, and to begin with turned up alone: that is quick, and near enough.
    """
    figures = list(figures_of(tables))
    first = over_pianos(tables, usual_pianos(tables, pianos, 1), figures, both=False, quick=True)
    kept = [figure for _, figure in sorted(zip(first, figures, strict=True), key=lambda pair: (-pair[0][0], pair[1]))]
    kept = kept[: SHIPPED + _MORE]
    found = over_pianos(tables, usual_pianos(tables, again, 2), kept, both=True, quick=True)
    ranked = [(*figure, *moved) for figure, moved in zip(kept, found, strict=True)]
    return sorted(ranked, key=lambda row: (-row[2], row[:2]))[:SHIPPED]


def by_force(tables: Tables, figures: Sequence[tuple[str, str]], pianos: int) -> list[tuple[float, float, float]]:
    """Return the same for some figures with nothing left out, turned up and down, and the first piano's alone."""
    visits = usual_pianos(tables, pianos, BY_FORCE_SEED)
    moved = over_pianos(tables, visits, figures, both=True)
    first = of_one(tables, visits[0], figures, both=True)
    return [(*of, one.lead) for of, one in zip(moved, first, strict=True)]


def main() -> None:
    """Rank all figures and write the table; or reckon some of it by force."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pianos", type=int, default=24)
    parser.add_argument("--again", type=int, default=120)
    parser.add_argument(
        "--by-force",
        type=int,
        default=0,
        help="so many pianos, for the figures that stand in the file already, else for each third that is ranked",
    )
    parser.add_argument("--out", type=Path, required=True)
    asked = parser.parse_args()
    tables = load_tables()
    figures = [(row.kind, row.of) for row in tables.figures[::3]]
    if asked.by_force and asked.out.exists():
        with asked.out.open(encoding="utf-8", newline="") as file:
            figures = [(row["kind"], row["of"]) for row in csv.DictReader(file)]
    with asked.out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        if asked.by_force:
            writer.writerow(["kind", "of", "moves", "turns", "first"])
            for figure, moved in zip(figures, by_force(tables, figures, asked.by_force), strict=True):
                writer.writerow([*figure, *(f"{x:.6g}" for x in moved)])
            return
        writer.writerow(["kind", "of", "moves", "turns", "source", "note"])
        for kind, of, moves, turns in rank(tables, asked.pianos, asked.again):
            writer.writerow([kind, of, f"{moves:.4g}", f"{turns:.3g}", "ranked", ""])


if __name__ == "__main__":
    main()

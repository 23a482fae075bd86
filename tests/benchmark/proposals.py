"""What simulated shops are proposed: with right tables hardly anything, with wrong ones what leads to the truth.

    python -m tests.benchmark.proposals [--shops 20] [--evaluations 270] [--seed 1]

prints a Markdown table: for shops whose tables are right, and for shops whose tables are off, how many proposals there
are of those that could be, and what taking them all in does. 'Nearer' is the share of the changed rows that lie nearer
to the truth afterwards; 'worse' of how many shops the tables give the true severities of 100 pianos that nobody has
learned from lesser odds than before. Everything is invented: `tests/simulated_shop.py`.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from simulated_shop import Shop, Truth, believed_tables, draw_truth, simulate
from tried_tables import teardown_scores, with_condition

from valuation.engine.rows import Tables
from valuation.learn.condition_tables import ConditionLearned, learn_condition
from valuation.learn.hours import learn_hours
from valuation.learn.proposals import HOURS, ODDS, READING, Proposal, propose_condition, propose_hours

FRESH = 100


def right(believed: Tables) -> Truth:
    """Return a truth that is what the shop believes."""
    truth = draw_truth(believed, np.random.default_rng(0))
    return replace(truth, tables=believed, ratios=dict.fromkeys(truth.ratios, 0.0), job_spread=0.16, stretch=1.0)


def taken(learned: ConditionLearned, proposals: list[Proposal]) -> ConditionLearned:
    """Return what was learned, of what is proposed alone."""
    ids = {proposal.id for proposal in proposals}
    readings = {name: table for name, table in learned.readings.items() if f"reading-{name}" in ids}
    odds = {key: table for key, table in learned.odds.items() if "-".join(filter(None, ("odds", *key))) in ids}
    return replace(learned, readings=readings, odds=odds)


def nearer(proposal: Proposal, truth: Truth) -> list[bool]:
    """Return of each row that a proposal changes whether it lies nearer to the truth afterwards."""
    if proposal.subject == HOURS:
        true = truth.ratios.get(proposal.id.removeprefix("hours-"))
        return [] if true is None or proposal.ratio is None else [abs(np.log(proposal.ratio) - true) < abs(true)]
    if proposal.subject not in (READING, ODDS):
        return []
    table = truth.tables.readings if proposal.subject == READING else truth.tables.fault_odds
    found = []
    for key in dict.fromkeys(change.key for change in proposal.changes):
        row = next(r for r in table if all(f"{getattr(r, c):g}" == v if c == "age" else getattr(r, c) == v
                                           for c, v in key))  # fmt: skip
        mine = [change for change in proposal.changes if change.key == key]
        before = sum(abs(change.old - getattr(row, change.column)) for change in mine)
        after = sum(abs(float(change.new) - getattr(row, change.column)) for change in mine)
        found.append(after < before)
    return found


def measure(shop: Shop, fresh: Shop) -> dict[str, list]:
    """Return what one shop is proposed and what comes of it."""
    learned = learn_condition(shop.cases, shop.believed)
    hours = learn_hours(shop.finished, shop.believed)
    proposals = [*propose_hours(hours, shop.believed, shop.believed), *propose_condition(learned, shop.believed)]
    tables = with_condition(shop.believed, taken(learned, proposals))
    scores = [teardown_scores(fresh.all_opened[:FRESH], t) for t in (shop.believed, tables)]
    gain = scores[1] - scores[0]
    return {
        "could": [len(hours.families) + len(learned.readings) + len(learned.odds)],
        "made": [len(proposals)],
        "of": [sum(p.subject == kind for p in proposals) for kind in (HOURS, READING, ODDS)],
        "nearer": [one for p in proposals for one in nearer(p, shop.truth)],
        "gain": [float(gain.mean())],
        "worse": [bool(gain.mean() < -1e-9)],
        "jobs": [len(shop.finished)],
    }


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--shops", type=int, default=20)
    parser.add_argument("--evaluations", type=int, default=270)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    believed = believed_tables()
    print("| tables | shops | jobs | proposals | hours, readings, odds | rows nearer | gain | worse |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for name in ("right", "off"):
        every: dict[str, list] = {}
        for number in range(given.shops):
            rng = np.random.default_rng([given.seed, number])
            truth = right(believed) if name == "right" else draw_truth(believed, rng)
            shop = simulate(rng, believed=believed, truth=truth, n=given.evaluations)
            fresh = simulate(rng, believed=believed, truth=truth, n=FRESH)
            for key, value in measure(shop, fresh).items():
                every.setdefault(key, []).extend([value] if key == "of" else value)
        made, could = sum(every["made"]), sum(every["could"])
        of = ", ".join(f"{n:.1f}" for n in np.mean(every["of"], axis=0))
        near = f"{100 * np.mean(every['nearer']):.0f} of 100" if every["nearer"] else "-"
        print(
            f"| {name} | {given.shops} | {np.mean(every['jobs']):.0f} | {made / given.shops:.1f} of "
            f"{could / given.shops:.0f} ({100 * made / could:.0f} %) | {of} | {near} | {np.mean(every['gain']):+.4f} | "
            f"{sum(every['worse'])} of {given.shops} |",
            flush=True,
        )


if __name__ == "__main__":
    main()

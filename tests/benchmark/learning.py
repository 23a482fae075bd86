"""What a shop learns from 400 evaluations and about 150 finished jobs, on simulated shops whose truth is known.

    .venv/bin/python -m tests.benchmark.learning --shops 20

prints four tables: whether the stated intervals of learned hours hold the true ratios; how well the tables, before and
after, give the true severities of faults of pianos that nobody has learned from; whether chances of becoming a job come
as said; and what the rounds of learning took. Everything simulated is invented: `tests/simulated_shop.py`.
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

import click
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from naive_counts import count_opened
from simulated_shop import TODAY, Shop, believed_tables, simulate
from tried_tables import teardown_scores, with_condition

from valuation.engine.rows import Tables
from valuation.jobs.stages import courses
from valuation.learn.carry import judge, reliability
from valuation.learn.cases import Case
from valuation.learn.chance import ATTRIBUTES, fit_chance
from valuation.learn.condition_tables import learn_condition
from valuation.learn.decisions import waits_of
from valuation.learn.delays import learn_delays
from valuation.learn.hours import learn_hours

BEFORE, COUNTED = "the tables as they were", "counted on opened pianos"
LEARNED, TRUTH = "learned from all visits", "the truth itself"


@dataclass
class Measured:
    """What came out, over all shops."""

    finished: list[int] = field(default_factory=list)
    held: list[bool] = field(default_factory=list)
    off: list[float] = field(default_factory=list)
    raw_off: list[float] = field(default_factory=list)
    scores: dict[str, list[float]] = field(default_factory=dict)
    held_out: dict[str, list[float]] = field(default_factory=dict)
    words: list[str] = field(default_factory=list)
    said: list[np.ndarray] = field(default_factory=list)
    came: list[np.ndarray] = field(default_factory=list)
    base: list[np.ndarray] = field(default_factory=list)
    truth: list[np.ndarray] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)


def measure(shop: Shop, fresh: Shop, into: Measured) -> None:
    """Learn all that can be learned from one shop, and judge it by the truth and by fresh pianos of the same truth."""
    into.finished.append(len(shop.finished))
    for family in learn_hours(shop.finished, shop.believed).families:
        true = shop.truth.ratios[family.family]
        into.held.append(bool(np.log(family.low) <= true <= np.log(family.high)))
        into.off.append(float(np.log(family.ratio) - true))
        into.raw_off.append(float(np.log(family.raw) - true))
    measure_fresh(shop, fresh, into)
    measure_left_out(shop, into)
    measure_chances(shop, fresh, into)


def measure_fresh(shop: Shop, fresh: Shop, into: Measured) -> None:
    """Score the tables, before and after, on fresh pianos that are all opened."""
    began = time.process_time()
    learned = with_condition(shop.believed, learn_condition(shop.cases, shop.believed))
    into.seconds.append(time.process_time() - began)
    ways = {
        BEFORE: shop.believed,
        COUNTED: count_opened(shop.cases, shop.believed),
        "the same, checks only": count_opened(shop.cases, shop.believed, odds=False),
        LEARNED: learned,
        TRUTH: shop.truth.tables,
    }
    for name, tables in ways.items():
        into.scores.setdefault(name, []).append(float(teardown_scores(fresh.all_opened, tables).mean()))


def measure_left_out(shop: Shop, into: Measured) -> None:
    """Score the tables on the last third of the shop's own teardowns, hidden from the learning."""
    opened = [case.visit.title for case in shop.cases if case.teardown]
    later = set(opened[2 * len(opened) // 3 :])
    known = [Case(visit=c.visit) if c.visit.title in later else c for c in shop.cases]
    left_out = [case for case in shop.cases if case.visit.title in later]
    learned = with_condition(shop.believed, learn_condition(known, shop.believed))
    for name, tables in {BEFORE: shop.believed, LEARNED: learned}.items():
        into.held_out.setdefault(name, []).append(float(teardown_scores(left_out, tables).mean()))


def measure_chances(shop: Shop, fresh: Shop, into: Measured) -> None:
    """Hold chances, and the base rate, against what fresh evaluations came to in the end."""
    way = courses(shop.events, shop.believed.stages, on=TODAY)
    waits = waits_of(shop.evaluations, way, on=TODAY)
    delays = learn_delays(waits)
    into.words.append(judge(shop.evaluations, waits, on=TODAY).word)
    for attributes, found in ((ATTRIBUTES, into.said), ((), into.base)):
        model = fit_chance(shop.evaluations, waits, delays, attributes=attributes)
        found.append(model.chances(fresh.evaluations))
    into.came.append(fresh.will_be_yes.astype(float))
    into.truth.append(fresh.chance)


@click.command()
@click.option("--shops", default=20, show_default=True)
@click.option("--evaluations", default=400, show_default=True)
@click.option("--seed", default=1, show_default=True)
def main(shops: int, evaluations: int, seed: int) -> None:
    """Print what shops learn."""
    believed: Tables = believed_tables()
    into = Measured()
    for k in range(shops):
        rng = np.random.default_rng([seed, k])
        shop = simulate(rng, believed=believed, n=evaluations)
        measure(shop, simulate(rng, believed=believed, truth=shop.truth, n=evaluations), into)
        click.echo(f"shop {k + 1} of {shops}", err=True)
    click.echo(
        f"{shops} shops, {evaluations} evaluations each, {np.mean(into.finished):.0f} finished jobs on average\n"
    )
    n = len(into.held)
    click.echo(f"Hours: {100 * np.mean(into.held):.1f} % of {n} intervals of 9 in 10 hold the true ratio")
    for name, off in (("learned", into.off), ("plain mean", into.raw_off)):
        click.echo(f"  {name:<12} off by {np.sqrt(np.mean(np.square(off))):.3f} (logarithm, root mean square)")
    click.echo("\nTrue severities on fresh pianos, mean logarithm of the odds they were given (nearer to 0 is better)")
    for name, scores in into.scores.items():
        gain = np.array(scores) - into.scores[BEFORE]
        click.echo(f"  {name:<26} {np.mean(scores):.4f}   better in {np.sum(gain > 0)} of {shops} shops")
    click.echo("The same, the last third of the shop's own jobs left out of the learning")
    for name, scores in into.held_out.items():
        gain = np.array(scores) - into.held_out[BEFORE]
        click.echo(f"  {name:<26} {np.mean(scores):.4f}   better in {np.sum(gain > 0)} of {shops} shops")
    said, came, base, truth = (np.concatenate(x) for x in (into.said, into.came, into.base, into.truth))
    counts = {word: into.words.count(word) for word in dict.fromkeys(into.words)}
    click.echo(f"\nChances, on fresh evaluations; what the tool says of showing them: {counts}")
    for name, p in (("chances", said), ("base rate", base), ("the truth itself", truth)):
        click.echo(f"  {name:<18} Brier score {np.mean((p - came) ** 2):.4f}")
    for group in reliability(said, came, groups=10):
        share = group.came
        click.echo(f"  said {100 * group.said:5.1f} %   came {100 * share.share:5.1f} %   of {share.of}")
    click.echo(f"\nOne learning of odds and readings took {np.median(into.seconds):.1f} s of CPU time in the middle")


if __name__ == "__main__":
    main()

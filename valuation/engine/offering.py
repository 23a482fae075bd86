"""Offering: which of the plans found for a scope is taken, and what a plan holds.

In: a bench, plans. Out: a plan, or whether one holds something. A scope goes no further than what it cures asks for.
"""

from __future__ import annotations

from valuation.engine.bench import Bench
from valuation.engine.catalogue import POLICIES
from valuation.engine.choices import Weighed
from valuation.engine.ladders import Rung
from valuation.engine.plans import Plan, kept
from valuation.engine.rows.work import ScopeRow

_LIKELY = 0.5


def asked_for(bench: Bench, row: ScopeRow, plans: tuple[Plan, ...]) -> Plan:
    """Return the best plan of a scope that opens the piano no further than what it must cure asks for.

    New strings may pay on a piano on which nothing but a pedal is broken; mending what is broken is another scope.
    Plans stand best first; where none is asked for, the best stays.
    """
    if row.verdict != "partial_repair":
        return plans[0]
    which = POLICIES.index(row.holds) - 1
    return next((plan for plan in plans if _opening_asked_for(bench, plan, which)), plans[0])


def _at_best_unforced(menu: Weighed, which: int) -> float:
    """Return the least chance that a part stays past a threshold where no opening forces work on it."""
    free = [not ladder.forced for ladder in menu.menu.ladders]
    return float(menu.undone[free, which].min())


@kept
def _opening_asked_for(bench: Bench, plan: Plan, which: int) -> bool:
    """Tell whether an opening that forces work does so for a part that is past the threshold without it."""
    chosen = ((p, menu.menu.ladders[n]) for p, (menu, n) in enumerate(zip(bench.weighed, plan.choices, strict=True)))
    past = bench.once(("past", which), lambda: [_at_best_unforced(menu, which) >= _LIKELY for menu in bench.weighed])
    forced = [past[p] for p, ladder in chosen if ladder.fixed and ladder.forced]
    return not forced or any(forced)


def payable(budget: float | None, plans: tuple[Plan, ...]) -> tuple[Plan, ...]:
    """Return the best plan of all, and before it the best that the budget allows. Plans stand best first."""
    best = [plan for plan in plans if budget is None or plan.price <= budget][:1]
    return (*best, *(plan for plan in plans[:1] if plan not in best))


@kept
def leaves_broken(bench: Bench, plan: Plan) -> bool:
    """Tell whether a plan leaves a part more likely broken than not. Many unlikely ones do not make a likely one.

    What the client wants left as it is does not count: it is told to them instead.
    """
    which = POLICIES.index("broken") - 1
    return any(
        menu.undone[n, which] >= _LIKELY
        for menu, n in zip(bench.weighed, plan.choices, strict=True)
        if menu.menu.part not in bench.let_be
    )


@kept
def fixed_work(bench: Bench, plan: Plan, fixed_from: float) -> frozenset[tuple[int, str]]:
    """Return what a plan does to which part whatever is found: lines that are signed.

    They are larger remedies, and what hangs on what is found where that is more likely than not. A repair is told by
    its number among the cures.
    """
    work: set[tuple[int, str]] = set()
    for p, (menu, n) in enumerate(zip(bench.weighed, plan.choices, strict=True)):
        work.update((p, rung.operation) for rung in _fixed_rungs(menu, n, fixed_from))
        work.update((p, str(cure)) for cure, (chance, _) in bench.repairs(p, n).items() if chance >= fixed_from)
    return frozenset(work)


def same_work(bench: Bench, one: Plan, other: Plan, fixed_from: float) -> bool:
    """Tell whether two plans have the same lines to sign, and differ at most in what may be found."""
    if fixed_work(bench, one, fixed_from) != fixed_work(bench, other, fixed_from):
        return False
    return _steps(bench, one, fixed_from) == _steps(bench, other, fixed_from)


def _steps(bench: Bench, plan: Plan, fixed_from: float) -> frozenset[str]:
    """Return what comes with the work: the opening's own steps, and those that fixed remedies take beyond it.

    One that another covers is not done for itself.
    """
    steps = set(bench.base[plan.opening])
    for menu, n in zip(bench.weighed, plan.choices, strict=True):
        steps.update(*(rung.further for rung in _fixed_rungs(menu, n, fixed_from)))
    operations = bench.access.operations
    return frozenset(steps - {name for step in steps for name in operations[step].covers})


def _fixed_rungs(menu: Weighed, n: int, fixed_from: float) -> list[Rung]:
    """Return the rungs of a choice that are done more likely than not; the first always is."""
    first, rungs = menu.menu.first[n], menu.menu.ladders[n].rungs
    return [rung for k, rung in enumerate(rungs) if rung.operation and (k == 0 or menu.chance[first + k] >= fixed_from)]

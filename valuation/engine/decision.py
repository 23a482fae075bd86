"""Decision: the scopes to choose from, and the best of each way.

In: a bench, payoffs, the tables' scopes and rules of offering. Out: a `Decision`. Scopes are worked out without what
the piano means to anyone; that only chooses among them:

    verdict = the way whose plan is worth most with the heart in it, of those the budget allows

Beside the named scopes stands *what pays*: the best plan of each class without contents. Contents are thresholds,
and thresholds are cliffs: a scope's price may step, the verdict's net may not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from valuation.engine.arrays import Floats
from valuation.engine.bench import Bench
from valuation.engine.catalogue import POLICIES
from valuation.engine.condition import Condition
from valuation.engine.offering import asked_for, fixed_work, leaves_broken, payable, same_work
from valuation.engine.payoffs import Parting, heart_payoff
from valuation.engine.plans import Aim, Payoff, Plan, holds_content, kept, search, terms_of, undone
from valuation.engine.rows.tables import Settings, Tables
from valuation.engine.rows.words import SEVERITIES, STATES
from valuation.engine.rows.work import ScopeRow
from valuation.engine.stakes import Stakes

REBUILD, PARTIAL, KEEP, RETIRE = "rebuild", "partial_repair", "keep", "retire"
OPTIONS = (REBUILD, PARTIAL, KEEP, RETIRE)
PAYS = "pays"
"""Name of the scope that only pays best: it has no contents of its own."""

_HOLDS = {"stops": 0, "broken": 1, "worn": 2}
_LIKELY = 0.5
_WORN, _FAILED = STATES.index("worn"), STATES.index("failed")


@dataclass(frozen=True, eq=False)
class Scope:
    """One scope with its plan. Money with tax.

    Attributes
    ----------
    name : str
        Id of the scope, or 'pays'.
    terms : ndarray, shape (9, T)
    operations : frozenset of str
        What the opening takes and what comes with any work, in this scope.
    net : float
        Worth to the client, heart apart.
    with_heart : float
        The same with what the piano means to them.
    serves : float
        Chance that the piano serves once it is done [-].
    tuned : bool
        It may be tuned once it is done.
    why_not : str
        Rule by which it is not offered; empty where it is.
    """

    name: str
    verdict: str
    plan: Plan
    terms: Floats
    operations: frozenset[str]
    net: float
    with_heart: float
    price: float
    serves: float
    tuned: bool
    offered: bool = True
    why_not: str = ""


@dataclass(frozen=True, eq=False)
class Decision:
    """What was decided.

    Attributes
    ----------
    scopes : tuple of Scope
        All that were worked out, the least first; those not offered say why.
    best : dict of str to Scope
        The plan behind each way of the verdict, as far as there is one.
    nets : dict of str to float
        Worth of each way with the heart in it.
    next_option : str
        The way that comes next.
    no_repair_short_of_rebuild : bool
        Nothing between making safe and a rebuild makes sense.
    furniture : bool
        Kept, it would be furniture: it hardly serves, or must not be tuned.
    """

    scopes: tuple[Scope, ...]
    best: dict[str, Scope]
    nets: dict[str, float]
    affordable: dict[str, bool]
    verdict: str
    next_option: str
    parting: Parting
    no_repair_short_of_rebuild: bool
    furniture: bool

    @property
    def offered(self) -> tuple[Scope, ...]:
        """The scopes to choose from."""
        return tuple(scope for scope in self.scopes if scope.offered)


def aims_of(scopes: Iterable[ScopeRow]) -> tuple[Aim, ...]:
    """Return what to search for: each scope with its contents, and what pays in the two classes of work."""
    named = [
        Aim(row.id, _HOLDS[row.holds], POLICIES.index(row.holds), row.systems_least, row.systems_most) for row in scopes
    ]
    partial = [row for row in scopes if row.verdict == PARTIAL]
    rebuild = [row for row in scopes if row.verdict == REBUILD]
    pays = [
        Aim(
            f"{PAYS}:{verdict}",
            -1,
            len(POLICIES) - 1,
            min(row.systems_least for row in rows),
            max(row.systems_most for row in rows),
        )
        for verdict, rows in ((PARTIAL, partial), (REBUILD, rebuild))
        if rows
    ]
    return (*named, *pays)


def decide(
    tables: Tables,
    bench: Bench,
    payoff: Payoff,
    stakes: Stakes,
    parting: Parting,
    tuning: Tuning,
    found: dict[str, tuple[Plan, ...]] | None = None,
) -> Decision:
    """Return the scopes and the verdict.

    Parameters
    ----------
    payoff : Payoff
        Worth of a plan, heart apart.
    tuning : Tuning
        What of the usual operations goes where the piano may not be tuned.
    found : dict, optional
        Plans of an earlier search on the same bench and payoff.
    """
    aims = aims_of(tables.scopes)
    found = found or search(bench, payoff, aims)
    aim_of = {aim.name: aim for aim in aims}
    heart = heart_payoff(stakes)
    scopes = [
        _scope(bench, payoff, heart, stakes, tuning, row.id, row.verdict, asked_for(bench, row, found[row.id]))
        for row in tables.scopes
        if found[row.id]
    ]
    pays = {
        verdict: [
            _scope(bench, payoff, heart, stakes, tuning, PAYS, verdict, plan)
            for plan in payable(stakes.budget, found.get(f"{PAYS}:{verdict}", ()))
        ]
        for verdict in (PARTIAL, REBUILD)
    }
    worn = any_system_worn(tables, bench.condition)
    scopes = _offer(tables.settings, bench, aim_of, scopes, worn=worn)
    safe = scopes[0]
    best = {KEEP: safe}
    rebuild = next((scope for scope in scopes if scope.verdict == REBUILD and scope.offered), None)
    if not worn:
        pays[REBUILD] = []
    for verdict in (PARTIAL, REBUILD):
        paying = [scope for scope in pays[verdict] if _makes_sense(tables.settings, bench, scope, safe)]
        for best_of_all in paying[-1:]:  # what the budget allows stands before it
            for i, scope in enumerate(scopes):
                same = same_work(bench, scope.plan, best_of_all.plan, tables.settings.fixed_from)
                if scope.offered and scope.verdict == verdict and same:
                    scopes[i] = _fuller(bench, aim_of[scope.name], scope, best_of_all)
                    paying = paying[:-1]
        named = [scope for scope in scopes if scope.verdict == verdict and scope.offered] + paying
        if verdict == PARTIAL and rebuild is not None:
            named = [scope for scope in named if scope.price < tables.settings.near_rebuild * rebuild.price]
        if named:
            within = [scope for scope in named if stakes.budget is None or scope.price <= stakes.budget]
            best[verdict] = max(within or named, key=lambda scope: scope.with_heart)
    scopes += [scope for scope in best.values() if scope.name == PAYS]
    furniture = not safe.tuned or safe.serves < tables.settings.serves_least
    return _verdict(stakes, scopes, best, parting, furniture)


@dataclass(frozen=True, slots=True)
class Tuning:
    """The tunings among the operations that come with any work: they may be forbidden.

    Attributes
    ----------
    prices : mapping of str to float
        Each with its price with tax.
    unraised : float
        What pulling it up would cost beyond a tuning where it stands, if it stands too low and may not be pulled up.
        It stays as low: what is saved so is no gain.
    """

    prices: Mapping[str, float]
    unraised: float


def _scope(
    bench: Bench,
    payoff: Payoff,
    heart: Payoff,
    stakes: Stakes,
    tuning: Tuning,
    name: str,
    verdict: str,
    plan: Plan,
) -> Scope:
    causes = bench.condition.causes
    terms = terms_of(bench, plan)
    may_be_tuned = undone(bench, plan, "stops") < _LIKELY
    operations, price, net = bench.base[plan.opening], plan.price, plan.net - tuning.unraised
    heard = heart.of(terms, causes)
    if not may_be_tuned:
        # No tuning in the price; and the worth of playing it goes, so that a stop never makes keeping it better.
        forbidden = operations & tuning.prices.keys()
        operations = operations - forbidden
        price -= sum(tuning.prices[name] for name in sorted(forbidden))
        silent = Payoff(np.where(np.arange(len(payoff.coefficients)) == 0, payoff.coefficients, 0.0), 0.0)
        net = min(net, silent.of(terms, causes) - price)
        heard = stakes.to_have
    return Scope(
        name=name,
        verdict=verdict,
        plan=plan,
        terms=terms,
        operations=operations,
        net=net,
        with_heart=net + heard,
        price=price,
        serves=serves(bench, plan),
        tuned=may_be_tuned,
    )


@kept
def serves(bench: Bench, plan: Plan) -> float:
    """Return the chance that no part that ends service has failed once a plan is done [-]."""
    alive = np.ones(9)
    for part, menu, n in zip(bench.condition.network.parts, bench.weighed, plan.choices, strict=True):
        if part.ends_service:
            rungs = slice(menu.menu.first[n], menu.menu.first[n + 1])
            alive *= 1.0 - menu.states[rungs, :, _FAILED].sum(axis=0)
    return float(bench.condition.causes @ alive)


@kept
def gates_hold(bench: Bench, plan: Plan) -> bool:
    """Tell whether no part that must hold before money is talked of is more likely failed than not after a plan."""
    for part, menu, n in zip(bench.condition.network.parts, bench.weighed, plan.choices, strict=True):
        rungs = slice(menu.menu.first[n], menu.menu.first[n + 1])
        if part.gate and float(bench.condition.causes @ menu.states[rungs, :, _FAILED].sum(axis=0)) >= _LIKELY:
            return False
    return True


def any_system_worn(tables: Tables, condition: Condition) -> bool:
    """Tell whether in any system a part is more likely worn or failed than not: else there is nothing to rebuild."""
    index = condition.network.part_index
    bad = condition.states[:, _WORN:].sum(axis=1) >= _LIKELY
    return any(part in index and bool(bad[index[part]]) for system in tables.systems for part in system.parts)


def _offer(
    settings: Settings, bench: Bench, aim_of: Mapping[str, Aim], scopes: list[Scope], *, worn: bool
) -> list[Scope]:
    """Return the scopes with those marked that are not offered, and why."""
    rebuild = next((scope for scope in scopes if scope.verdict == REBUILD and worn), None)
    result: list[Scope] = []
    for scope in scopes:
        why = ""
        if scope.verdict == PARTIAL:
            why = _why_not_partial(settings, bench, scope, result, rebuild)
            below = next(i for i in reversed(range(len(result))) if result[i].offered)
            if not why and same_work(bench, scope.plan, result[below].plan, settings.fixed_from):
                lower = result[below]
                result[below], why = _fuller(bench, aim_of[lower.name], lower, scope), "as_below"
        elif scope.verdict == REBUILD and not worn:
            why = "nothing_worn"
        result.append(replace(scope, offered=not why, why_not=why))
    return result


def _fuller(bench: Bench, aim: Aim, named: Scope, other: Scope) -> Scope:
    """Return a scope with the better of two plans that have the same lines to sign: one name for one piece of work.

    What the name promises must hold: a plan that leaves more undone does not take it, however well it pays.
    """
    if other.net <= named.net or not holds_content(bench, aim, other.plan):
        return named
    return replace(other, name=named.name, verdict=named.verdict, offered=True, why_not="")


def _why_not_partial(settings: Settings, bench: Bench, scope: Scope, below: list[Scope], rebuild: Scope | None) -> str:
    safe = below[0]
    last = next(other for other in reversed(below) if other.offered)
    if leaves_broken(bench, scope.plan):
        return "leaves_broken"
    if not gates_hold(bench, scope.plan):
        return "gate_fails"
    if not _is_work(settings, bench, scope, safe):
        return "as_safe"
    if scope.price <= last.price * (1 + settings.near_scope):
        return "as_below"
    if rebuild is not None and scope.price >= settings.near_rebuild * rebuild.price:
        return "near_rebuild"
    return ""


def _is_work(settings: Settings, bench: Bench, scope: Scope, safe: Scope) -> bool:
    """Tell whether a scope is work of its own: dearer than making it safe, and with something fixed in it."""
    dearer = scope.price > safe.price * (1 + settings.near_keep)
    return dearer and bool(fixed_work(bench, scope.plan, settings.fixed_from))


def _makes_sense(settings: Settings, bench: Bench, scope: Scope, safe: Scope) -> bool:
    """Tell whether what pays is work of its own: more than making it safe, nothing broken left, gates that hold."""
    whole = gates_hold(bench, scope.plan) and not leaves_broken(bench, scope.plan)
    return whole and scope.tuned and _is_work(settings, bench, scope, safe)


def _verdict(
    stakes: Stakes, scopes: list[Scope], best: dict[str, Scope], parting: Parting, furniture: bool
) -> Decision:
    nets = {option: best[option].with_heart for option in (REBUILD, PARTIAL, KEEP) if option in best}
    nets[RETIRE] = parting.net
    affordable = {
        option: option == RETIRE or stakes.budget is None or best[option].price <= stakes.budget for option in nets
    }
    eligible = [option for option in nets if affordable[option]]
    if furniture and stakes.to_have <= 0 and KEEP in eligible:
        eligible.remove(KEEP)
    ranked = sorted(eligible, key=lambda option: -nets[option])
    others = sorted((option for option in nets if option != ranked[0]), key=lambda option: -nets[option])
    runners = ranked[1:] or others
    return Decision(
        scopes=tuple(scopes),
        best=best,
        nets=nets,
        affordable=affordable,
        verdict=ranked[0],
        next_option=runners[0],
        parting=parting,
        no_repair_short_of_rebuild=not any(scope.verdict == PARTIAL and scope.offered for scope in scopes),
        furniture=furniture,
    )


def stop_severities(condition: Condition) -> dict[str, tuple[str, ...]]:
    """Return which acts what was found forbids: 'tune', 'raise', 'play', 'move', each with the faults behind it."""
    result: dict[str, tuple[str, ...]] = {}
    for act in ("tune", "raise", "play", "move"):
        found = []
        for f, row in enumerate(condition.network.faults):
            since = getattr(row, f"stop_{act}")
            if since and condition.at_least[f, SEVERITIES.index(since)] >= _LIKELY:
                found.append(row.id)
        if found:
            result[act] = tuple(found)
    return result

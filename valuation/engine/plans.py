"""Plans: the best choice for every part in every opening, for each scope, at once.

In: weighed menus, openings, what is at stake. Out: for each scope the best plan in each opening that can hold it.
Inside an opening the price adds up over parts and only value, playing and service multiply:

    net = constant + sum over cause h, term t:  P(h) * coefficient_t * product over parts of term[part's choice, h, t]
          - price of the opening - sum over parts of the price of its choice

so that, all other parts held, each part's best choice is one product of matrices. It climbs part by part, all
openings and scopes together, until nothing changes; once from a piano that is put right and once from one that is
let be, since where much is bad no single cure pays that would pay beside the others.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from valuation.engine.arrays import Bools, Floats, Ints, Singles
from valuation.engine.catalogue import POLICIES, Catalogue
from valuation.engine.choices import Weighed, repair_chances
from valuation.engine.condition import Condition
from valuation.engine.money import Prices
from valuation.engine.openings import Access, Opening
from valuation.engine.rows.tables import Settings
from valuation.engine.rows.words import SEVERITIES

ROUNDS = 6
"""A climb that still moves after so many rounds over all parts is broken off; two to four is usual."""

_TIE = 1e-2
"""A choice must be better by so much to be changed: below it lies rounding in single precision [money]."""

CONTENT_WITHIN = 0.25
"""A scope's content is held where what is left undone is no more likely than at best, plus this [-]."""


@dataclass(frozen=True, eq=False)
class Payoff:
    """How net worth is read from the terms: value, playing at the moments, service at the moments. Money today."""

    coefficients: Floats
    constant: float

    def of(self, terms: Floats, causes: Floats) -> float:
        """Read the terms of one plan, shape (9, T)."""
        return self.constant + float(causes @ terms @ self.coefficients)


@dataclass(frozen=True, eq=False)
class Bench:
    """What a search for plans stands on: one piano's choices and prices.

    Attributes
    ----------
    weighed : tuple of Weighed, length P
    pieces : ndarray, shape (F, 4)
        Pieces of each fault by severity.
    cures : int
        How many there are; that index stands for none.
    base : tuple of frozenset of str, length O
        Operations of each opening, with those that come with any work.
    opening_price : ndarray, shape (O,)
        Expected price with tax of what each opening takes and of what comes with any work.
    price : tuple of ndarray, length P
        Expected price of each choice with tax, shape (N,).
    allowed : tuple of ndarray of bool, length P
        Whether a choice may be made in an opening, shape (O, N), whatever the scope.
    """

    condition: Condition
    access: Access
    weighed: tuple[Weighed, ...]
    pieces: Floats
    cures: int
    base: tuple[frozenset[str], ...]
    opening_price: Floats
    price: tuple[Floats, ...]
    allowed: tuple[Bools, ...]
    _repairs: dict[tuple[int, int], dict[int, tuple[float, float]]] = field(default_factory=dict)

    def repairs(self, part: int, ladder: int) -> dict[int, tuple[float, float]]:
        """Return the small repairs of a choice, see `repair_chances`; worked out once."""
        key = (part, ladder)
        if key not in self._repairs:
            self._repairs[key] = repair_chances(self.condition, self.weighed[part], ladder, self.pieces, self.cures)
        return self._repairs[key]


@dataclass(frozen=True, eq=False)
class Aim:
    """What a search looks for: a scope's contents, or only its number of systems.

    Attributes
    ----------
    name : str
    holds : int
        Threshold that nothing may be left beyond: position among stops, broken, worn; -1 for none.
    policy : int
        How far it goes at most: position among the policies.
    least, most : int
        Systems it renews.
    """

    name: str
    holds: int
    policy: int
    least: int
    most: int


@dataclass(frozen=True, eq=False)
class Plan:
    """One plan: an opening and a choice for each part.

    Attributes
    ----------
    aim : str
    opening : int
        Position among the openings.
    choices : tuple of int, length P
        Position of each part's ladder in its menu.
    net, price : float
        Expected net worth by the payoff searched with, and expected price with tax.
    """

    aim: str
    opening: int
    choices: tuple[int, ...]
    net: float
    price: float


def bench_of(
    catalogue: Catalogue,
    condition: Condition,
    weighed: tuple[Weighed, ...],
    prices: Prices,
    settings: Settings,
    usual: frozenset[str],
    pieces: Floats,
    hours_scale: float = 1.0,
    rate_scale: float = 1.0,
) -> Bench:
    """Return what a search for plans stands on.

    Parameters
    ----------
    usual : frozenset of str
        Operations that come with any work.
    pieces : ndarray, shape (F, 4)
        Pieces of each fault by severity.
    hours_scale, rate_scale : float
        What-if factors on all hours and on their rate.
    """
    access, scale, tax = catalogue.access, hours_scale * rate_scale, 1 + prices.tax
    base = tuple(_charged(access, opening, usual) for opening in access.openings)
    return Bench(
        condition=condition,
        access=access,
        weighed=weighed,
        pieces=pieces,
        cures=len(catalogue.cures),
        base=base,
        opening_price=np.array([tax * (scale * prices.labour(names) + prices.other(names)) for names in base]),
        price=tuple(tax * (scale * menu.labour + menu.other) for menu in weighed),
        allowed=_allowed(catalogue, condition, weighed, settings),
    )


def _charged(access: Access, opening: Opening, usual: frozenset[str]) -> frozenset[str]:
    names = opening.operations | usual
    covered = {name for operation in names for name in access.operations[operation].covers}
    return frozenset(names - covered)


def _allowed(
    catalogue: Catalogue, condition: Condition, weighed: tuple[Weighed, ...], settings: Settings
) -> tuple[Bools, ...]:
    """Return which choices may be made in which opening.

    A fixed larger remedy must be likely enough to be needed, unless the opening asks for it. What another part's fault
    forbids may be done only where the opening renews that part.
    """
    openings = catalogue.access.openings
    forbidding = _forbidding_parts(catalogue, condition, settings)
    result = []
    for menu in weighed:
        here = menu.menu.context_of[:, None] == menu.menu.context
        mask = here & (menu.open & (menu.need >= settings.fixed_from))
        for n, ladder in enumerate(menu.menu.ladders) if forbidding else ():
            for part in {part for rung in ladder.rungs for part in forbidding.get(rung.operation, ())}:
                mask[:, n] &= np.array([bool(opening.forced(part)) for opening in openings])
        result.append(mask)
    return tuple(result)


def _forbidding_parts(catalogue: Catalogue, condition: Condition, settings: Settings) -> dict[str, list[str]]:
    """Return for each remedy that is forbidden so the other parts whose faults, as likely found, forbid it."""
    network = condition.network
    beyond = np.cumsum(condition.severities[:, ::-1], axis=1)[:, ::-1]
    found: dict[str, list[str]] = {}
    for operation, rows in catalogue.forbidden.items():
        for row in rows:
            f = network.index.get(row.fault)
            if f is None or beyond[f, SEVERITIES.index(row.since)] < settings.forbidden_from:
                continue
            part = network.faults[f].part
            if part != catalogue.operations[operation].part:
                found.setdefault(operation, []).append(part)
    return found


def search(bench: Bench, payoff: Payoff, aims: tuple[Aim, ...]) -> dict[str, tuple[Plan, ...]]:
    """Return for each aim its best plan in every opening that can hold it, the best first.

    Parameters
    ----------
    bench : Bench
    payoff : Payoff
    aims : tuple of Aim
    """
    rows, masks = _rows(bench, aims)
    if not len(rows):
        return {aim.name: () for aim in aims}
    ways = [_climb(bench, payoff, rows[:, 1], masks, put_right=put_right) for put_right in (True, False)]
    better = ways[1][1] > ways[0][1] + 1e-9
    chosen, net, price = (np.where(better, let_be, mended) for mended, let_be in zip(*ways, strict=True))
    found: dict[str, list[Plan]] = {aim.name: [] for aim in aims}
    for i in np.argsort(-net, kind="stable").tolist():
        name = aims[rows[i, 0]].name
        found[name].append(Plan(name, int(rows[i, 1]), tuple(chosen[:, i].tolist()), float(net[i]), float(price[i])))
    return {name: tuple(plans) for name, plans in found.items()}


def _rows(bench: Bench, aims: tuple[Aim, ...]) -> tuple[Ints, list[Bools]]:
    """Return (aim, opening) of every search that has a choice for each part, and the choices open to it."""
    systems = np.array([len(opening.systems) for opening in bench.access.openings])
    rows, masks = [], []
    for a, aim in enumerate(aims):
        within = np.flatnonzero((aim.least <= systems) & (systems <= aim.most))
        allowed = [
            mask[within] & (menu.menu.policy <= aim.policy)
            for menu, mask in zip(bench.weighed, bench.allowed, strict=True)
        ]
        if aim.holds >= 0:
            allowed = [mask & _holds(menu, mask, aim.holds) for menu, mask in zip(bench.weighed, allowed, strict=True)]
        whole = np.all([mask.any(axis=1) for mask in allowed], axis=0)
        rows += [(a, o) for o in within[whole].tolist()]
        masks.append([mask[whole] for mask in allowed])
    joined = [np.concatenate([mask[p] for mask in masks]) for p in range(len(bench.weighed))]
    return np.array(rows, dtype=np.intp).reshape(-1, 2), joined


def _holds(menu: Weighed, allowed: Bools, threshold: int) -> Bools:
    """Return which choices leave no more undone than can be had anywhere in the class."""
    undone = menu.undone[:, threshold]
    reachable = allowed.any(axis=0)
    best = undone[reachable].min() if reachable.any() else 0.0
    return np.asarray(undone <= best + CONTENT_WITHIN)


def _climb(
    bench: Bench, payoff: Payoff, openings: Ints, masks: list[Bools], *, put_right: bool
) -> tuple[Ints, Floats, Floats]:
    """Return choices (P, K), net (K,) and price (K,) of the best plans found for K searches at once.

    Parameters
    ----------
    put_right : bool
        To begin with each part as if all others were sound; else with what costs least.
    """
    causes, k = bench.condition.causes, len(openings)
    weight = (payoff.coefficients[:, None] * causes).ravel().astype(np.float32)
    # Only what some search may choose; single precision will do to choose by, the net is read exactly at the end.
    open_to = [np.flatnonzero(mask.any(axis=0)) for mask in masks]
    # Term by term, so that value and playing stand first: service is moved only by parts that end it.
    terms = [
        np.ascontiguousarray(menu.terms[some].transpose(0, 2, 1), dtype=np.float32).reshape(len(some), -1)
        for menu, some in zip(bench.weighed, open_to, strict=True)
    ]
    moved = (1 + (len(payoff.coefficients) - 1) // 2) * len(causes)
    reach = [len(weight) if part.ends_service else moved for part in bench.condition.network.parts]
    weighted = [np.ascontiguousarray((each * weight)[:, :n].T) for each, n in zip(terms, reach, strict=True)]
    barred = [
        (np.where(mask, 0.0, -np.inf) - price)[:, some].astype(np.float32)
        for mask, price, some in zip(masks, bench.price, open_to, strict=True)
    ]
    rows = np.arange(k)
    alone = [each.sum(axis=0) if put_right else 0.0 for each in weighted]
    chosen = np.stack([(by_itself + bar).argmax(axis=1) for by_itself, bar in zip(alone, barred, strict=True)])
    for _ in range(ROUNDS):
        before = chosen.copy()
        after = _products_after(terms, chosen)
        ahead = np.ones((k, len(weight)), dtype=np.float32)
        for p, (each, bar) in enumerate(zip(weighted, barred, strict=True)):
            offer = (ahead[:, : reach[p]] * after[p][:, : reach[p]]) @ each
            offer += bar
            best, held = offer.argmax(axis=1), chosen[p]
            # A tie stays as it is, or the climb could go round.
            chosen[p] = np.where(offer[rows, best] > offer[rows, held] + _TIE, best, held)
            ahead *= terms[p][chosen[p]]
        if (chosen == before).all():
            break
    chosen = np.stack([some[each] for some, each in zip(open_to, chosen, strict=True)])
    price = bench.opening_price[openings] + sum(each[c] for each, c in zip(bench.price, chosen, strict=True))
    whole = np.ones((k, *bench.weighed[0].terms.shape[1:]))
    for menu, c in zip(bench.weighed, chosen, strict=True):
        whole *= menu.terms[c]
    return chosen, payoff.constant + np.tensordot(causes, whole, axes=(0, 1)) @ payoff.coefficients - price, price


def _products_after(terms: list[Singles], chosen: Ints) -> list[Singles]:
    """Return for each part the product of the terms of all parts behind it."""
    after = [np.ones((chosen.shape[1], terms[0].shape[1]), dtype=np.float32)]
    for p in range(len(terms) - 1, 0, -1):
        after.append(after[-1] * terms[p][chosen[p]])
    return after[::-1]


def terms_of(bench: Bench, plan: Plan) -> Floats:
    """Return the terms of one plan, given the cause, shape (9, T)."""
    return np.asarray(
        np.prod([menu.terms[n] for menu, n in zip(bench.weighed, plan.choices, strict=True)], axis=0), dtype=np.float64
    )


def undone(bench: Bench, plan: Plan, policy: str) -> float:
    """Return the chance that a plan leaves something past a threshold: 'stops', 'broken' or 'worn' [-]."""
    which = POLICIES.index(policy) - 1
    left = np.array([menu.undone[n, which] for menu, n in zip(bench.weighed, plan.choices, strict=True)])
    return float(1.0 - np.prod(1.0 - left))


def has_fixed_work(bench: Bench, plan: Plan, fixed_from: float) -> bool:
    """Tell whether a plan does anything of its own: a larger remedy, or a repair more likely needed than not."""
    for p, (menu, n) in enumerate(zip(bench.weighed, plan.choices, strict=True)):
        if menu.menu.ladders[n].fixed:
            return True
        chances = bench.repairs(p, n)
        if any(chance >= fixed_from for chance, _ in chances.values()):
            return True
    return False

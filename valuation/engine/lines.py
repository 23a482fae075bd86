"""Lines: what a plan is made of: fixed lines to sign, and if-found lines each with its chance and price.

In: a bench, prices, one scope. Out: `Line`s and `Allowance`s. Every line answers a fault and names it; a shared step
answers the faults of the work that brings it. An expected value is for deciding and is never a price to sign: a
small repair that is more likely needed than not is a fixed line at its price, whatever its chance.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

from valuation.engine.appraised_work import Allowance, Line
from valuation.engine.bench import Bench
from valuation.engine.catalogue import Catalogue
from valuation.engine.choices import Weighed
from valuation.engine.condition import Condition
from valuation.engine.decision import Scope
from valuation.engine.ladders import Ladder, left_by
from valuation.engine.money import Price, Prices, follow_ups
from valuation.engine.openings import with_what_follows
from valuation.engine.rows.tables import Settings
from valuation.engine.rows.words import AT_VISIT

_NEVER_MIND = 1e-9
"""A chance so small is rounding [-]."""

_LIKELY = 0.5


@dataclass(frozen=True, slots=True)
class Repair:
    """One small repair, or one rung, of a plan: what it answers, how likely it is needed, what it then costs.

    Attributes
    ----------
    with_it : tuple of str
        What else it takes: opening further, what must follow.
    chance : float
        That it is needed [-].
    hours, labour, material, outside : float
        If it is needed, before tax and what-if factors.
    pieces : float
        How many pieces a small repair then treats; 0 for a larger one.
    fixed : bool
        The plan does it whatever is found.
    forced : bool
        The opening asks for it, though none of its faults is likely there: it answers those of what opens it.
    """

    operation: str
    with_it: tuple[str, ...]
    part: int
    faults: tuple[str, ...]
    chance: float
    hours: float
    rate: float
    labour: float
    material: float
    outside: float
    pieces: float
    fixed: bool
    forced: bool = False


def repairs_of(catalogue: Catalogue, bench: Bench, prices: Prices, scope: Scope, least: float) -> tuple[Repair, ...]:
    """Return everything that a plan does to the parts, or may do, part by part.

    Parameters
    ----------
    least : float
        Small repairs that are less likely needed are left out [-].
    """

    def of_choice(p: int, n: int) -> list[Repair]:
        menu = bench.weighed[p]
        return [
            *_rungs(catalogue, bench.condition, prices, menu, menu.menu.ladders[n], n),
            *(
                _small_repair(catalogue, prices, p, cure, chance, count / chance)
                for cure, (chance, count) in bench.repairs(p, n).items()
                if chance >= least
            ),
        ]

    return tuple(
        repair
        for p, n in enumerate(scope.plan.choices)
        for repair in bench.once(("told", p, n, least), partial(of_choice, p, n))
    )


def _rungs(
    catalogue: Catalogue, condition: Condition, prices: Prices, menu: Weighed, ladder: Ladder, n: int
) -> list[Repair]:
    found = []
    first = menu.menu.first[n]
    for k, rung in enumerate(ladder.rungs):
        if not rung.operation:
            continue
        fixed = k == 0
        chance = 1.0 if fixed else float(menu.chance[first + k])
        names = (rung.operation, *sorted(rung.further))
        whole = [prices.operations[name] for name in names]
        faults = _answered(catalogue, condition, menu.menu.part, ladder, rung.operation, k)
        found.append(
            Repair(
                operation=rung.operation,
                with_it=tuple(sorted(rung.further)),
                part=menu.menu.part,
                faults=faults,
                chance=chance,
                hours=sum(price.hours for price in whole),
                rate=prices.operations[rung.operation].rate,
                labour=sum(price.labour for price in whole),
                material=sum(price.material for price in whole),
                outside=sum(price.outside for price in whole),
                pieces=0.0,
                fixed=fixed,
                forced=fixed and ladder.forced and not _likely(condition, faults),
            )
        )
    return found


def _likely(condition: Condition, faults: tuple[str, ...]) -> bool:
    """Tell whether one of some faults is more likely there than not."""
    return any(condition.severities[condition.network.index[fault], 0] < _LIKELY for fault in faults)


def _answered(
    catalogue: Catalogue, condition: Condition, part: int, ladder: Ladder, operation: str, k: int
) -> tuple[str, ...]:
    """Return the faults that a larger remedy answers: those it cures that call for it, the likeliest first."""
    network = condition.network
    # What an opening asks for answers all that is worn, however far the rest goes.
    all_worn = ladder.policy == "nothing" or (ladder.forced and k == 0)
    threshold = catalogue.thresholds["worn" if all_worn else ladder.policy]
    first, after = network.first[part], network.first[part + 1]
    below = ladder.rungs[k - 1].left if k else ((0, 1, 2, 3),) * (after - first)
    cures = {f: c for f, c in catalogue.cures_of.get(operation, {}).items() if first <= f < after}

    def chance(f: int, left: tuple[int, ...], least: int) -> float:
        cured = (s for s in range(1, 4) if left[s] >= least and catalogue.leaves[cures[f]][s] < left[s])
        return sum(float(condition.severities[f, s]) for s in cured)

    found = {f: chance(f, below[f - first], threshold[f]) for f in cures}
    if not any(found.values()):  # what bars the rung below set it off: then it answers whatever it cures
        found = {f: chance(f, (0, 1, 2, 3), 1) for f in cures}
    ranked = sorted((f for f in found if found[f] > 0), key=lambda f: (-found[f], f))
    return tuple(network.faults[f].id for f in ranked if found[f] >= 0.5 * found[ranked[0]])


def _small_repair(catalogue: Catalogue, prices: Prices, part: int, cure: int, chance: float, count: float) -> Repair:
    row = catalogue.cures[cure]
    whole, piece = prices.operations[row.operation], prices.pieces[cure]
    along = [prices.operations[name] for name in prices.follows[cure]]
    along_labour = sum(price.labour for price in along)
    return Repair(
        operation=row.operation,
        with_it=follow_ups(catalogue, row.operation) if sum(price.amount for price in along) > _NEVER_MIND else (),
        part=part,
        faults=(row.fault,),
        chance=min(chance, 1.0),
        hours=whole.hours + count * piece.hours + (along_labour / whole.rate if whole.rate else 0.0),
        rate=whole.rate,
        labour=whole.labour + count * piece.labour + along_labour,
        material=whole.material + count * piece.material + sum(price.material for price in along),
        outside=whole.outside + count * piece.outside + sum(price.outside for price in along),
        pieces=count,
        fixed=False,
    )


def lines_of(
    catalogue: Catalogue,
    bench: Bench,
    prices: Prices,
    settings: Settings,
    scope: Scope,
    option: str,
    repairs: tuple[Repair, ...],
    scale: float,
    findings: dict[str, tuple[str, ...]],
) -> tuple[tuple[Line, ...], tuple[Allowance, ...]]:
    """Return the fixed lines, in the order of the work, and the if-found lines, the dearest to expect first.

    Parameters
    ----------
    scale : float
        What-if factor on labour.
    findings : dict of str to tuple of str
        Checks made that read each fault.
    """
    network = bench.condition.network
    fixed = [r for r in repairs if r.fixed or r.chance >= settings.fixed_from]
    found = [
        r
        for r in repairs
        if not (r.fixed or r.chance >= settings.fixed_from)
        and r.chance >= settings.likely_from
        and not _stands_below(catalogue, r, fixed)
    ]
    brought: dict[str, list[Repair]] = {}
    opening = catalogue.access.openings[scope.plan.opening]
    for repair in fixed:
        for name in _brought(catalogue, opening.names, repair) if not repair.forced else ():
            brought.setdefault(name, []).append(repair)
    asked = [repair for repair in fixed if not repair.forced]
    shared = {name: brought.get(name, fixed) for name in scope.operations}
    work = []
    for repair in fixed:
        along = _brought_along(catalogue, repair)
        for name in along:
            shared.setdefault(name, [repair])
        own = _without(repair, [prices.operations[name] for name in along])
        opened_for = _opened_for(catalogue, repair, asked) if repair.forced else []
        faults = tuple(dict.fromkeys(f for r in opened_for for f in r.faults)) or repair.faults
        work.append(
            Line(
                operation=own.operation,
                name=catalogue.operations[own.operation].name,
                plain=catalogue.operations[own.operation].plain,
                part=network.parts[own.part].id,
                hours=own.hours,
                rate=own.rate * scale,
                labour=own.labour * scale,
                materials=own.material,
                outside=own.outside,
                amount=own.labour * scale + own.material + own.outside,
                findings=_findings(findings, faults),
                faults=faults,
                because=tuple(r.operation for r in opened_for),
                with_it=() if along else repair.with_it,
                pieces=own.pieces,
                rows=_rows(catalogue, own.operation, () if opened_for else faults),
            )
        )
    covered = {other for name in shared for other in catalogue.operations[name].covers}
    lines = [
        _line(
            catalogue,
            prices.operations[name],
            name,
            _cured_by(catalogue, bench.condition, name),
            scale,
            shared[name],
            findings,
        )
        for name in catalogue.operations
        if name in shared and name not in covered
    ]
    allowances = [
        Allowance(
            option=option,
            scope=scope.name,
            part=network.parts[r.part].id,
            operation=r.operation,
            name=catalogue.operations[r.operation].name,
            plain=catalogue.operations[r.operation].plain,
            faults=r.faults,
            large=catalogue.operations[r.operation].level == "large",
            seen_when=_seen_when(bench, r),
            chance=r.chance,
            labour=r.labour * scale,
            materials=r.material,
            outside=r.outside,
            if_needed=(price := prices.tax.gross(r.labour * scale, r.material, r.outside)),
            expected=r.chance * price,
            rows=_rows(catalogue, r.operation, r.faults),
        )
        for r in found
    ]
    allowances.sort(key=lambda allowance: (-allowance.expected, allowance.operation))
    return (*lines, *work), tuple(allowances)


def _stands_below(catalogue: Catalogue, repair: Repair, fixed: list[Repair]) -> bool:
    """Tell whether a larger remedy among the fixed lines is done instead: a higher rung, or one that cures the same."""
    row = catalogue.operations[repair.operation]
    above = [r.operation for r in fixed if r.part == repair.part and catalogue.operations[r.operation].rung > row.rung]
    if row.level == "large":
        return bool(above)
    faults = [(fault, s) for fault in repair.faults for s in range(4)]
    return any(not any(left_by(catalogue, name, fault, s) for fault, s in faults) for name in above)


def _brought_along(catalogue: Catalogue, repair: Repair) -> tuple[str, ...]:
    """Return what a larger remedy brings, opening the piano further and what follows it: lines of their own."""
    return repair.with_it if catalogue.operations[repair.operation].level == "large" else ()


def _without(repair: Repair, prices: list[Price]) -> Repair:
    """Return a repair less what stands on lines of its own."""
    return replace(
        repair,
        hours=repair.hours - sum(price.hours for price in prices),
        labour=repair.labour - sum(price.labour for price in prices),
        material=repair.material - sum(price.material for price in prices),
        outside=repair.outside - sum(price.outside for price in prices),
    )


def _opened_for(catalogue: Catalogue, forced: Repair, asked: list[Repair]) -> list[Repair]:
    """Return the work that needs the piano open as far as a forced remedy does, or further; if none, all of it."""
    axis, far = catalogue.access.step_of[catalogue.operations[forced.operation].strings]
    needs = [(r, catalogue.access.step_of[catalogue.operations[r.operation].strings]) for r in asked]
    deep = [r for r, (on, step) in needs if (on == axis and step >= far > 0) or on > axis]
    return deep or asked


def _brought(catalogue: Catalogue, steps: tuple[str, ...], repair: Repair) -> set[str]:
    """Return the shared steps that a repair asks for: those of the opening steps that it needs."""
    row, access = catalogue.operations[repair.operation], catalogue.access
    names: set[str] = set()
    for step in (row.strings, row.action):
        axis, far = access.step_of[step]
        for opened in access.steps[axis][: far + 1]:
            if opened.id in steps:
                names.update(opened.operations)
    return with_what_follows(catalogue.operations, names)


def _cured_by(catalogue: Catalogue, condition: Condition, operation: str) -> tuple[str, ...]:
    """Return the faults, more likely there than not, that a shared step betters by itself, as tuning does unisons."""
    return tuple(
        condition.network.faults[f].id
        for f, cure in catalogue.cures_of.get(operation, {}).items()
        if sum(condition.severities[f, s] for s in range(1, 4) if catalogue.leaves[cure][s] < s) >= _LIKELY
    )


def _line(
    catalogue: Catalogue,
    price: Price,
    name: str,
    faults: tuple[str, ...],
    scale: float,
    because: list[Repair],
    findings: dict[str, tuple[str, ...]],
) -> Line:
    row = catalogue.operations[name]
    answers = tuple(dict.fromkeys((*faults, *(fault for repair in because for fault in repair.faults))))
    return Line(
        operation=name,
        name=row.name,
        plain=row.plain,
        part="",
        hours=price.hours,
        rate=price.rate * scale,
        labour=price.labour * scale,
        materials=price.material,
        outside=price.outside,
        amount=price.labour * scale + price.material + price.outside,
        findings=_findings(findings, answers),
        faults=answers,
        because=tuple(dict.fromkeys(repair.operation for repair in because)),
        with_it=(),
        pieces=0.0,
        rows=_rows(catalogue, name, ()),
    )


def _findings(findings: dict[str, tuple[str, ...]], faults: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(check for fault in faults for check in findings.get(fault, ())))


def _rows(catalogue: Catalogue, operation: str, faults: tuple[str, ...]) -> tuple[str, ...]:
    row = catalogue.operations[operation]
    return (
        f"operations:{operation}",
        f"rates:{row.where}",
        *(f"materials:{item.material}" for item in row.materials),
        *(f"cures:{operation}/{fault}" for fault in faults),
    )


def _seen_when(bench: Bench, repair: Repair) -> str:
    """Return when the fault behind an if-found line is seen: the latest of its faults' steps."""
    network = bench.condition.network
    opened = [s for fault in repair.faults if (s := network.faults[network.index[fault]].seen_at) != AT_VISIT]
    return max(opened, key=lambda step: bench.access.step_of[step][1]) if opened else AT_VISIT


def levels_of(bench: Bench, repairs: tuple[Repair, ...], settings: Settings) -> tuple[dict[str, str], dict[str, str]]:
    """Return the plan as part to level, and part to operation where something is fixed."""
    levels = {part.id: "keep" for part in bench.condition.network.parts}
    treatments: dict[str, str] = {}
    for repair in repairs:
        part = bench.condition.network.parts[repair.part].id
        if repair.fixed:
            levels[part] = "replace"
            treatments[part] = repair.operation
        elif repair.chance >= settings.fixed_from and levels[part] == "keep":
            levels[part] = "repair"
            treatments.setdefault(part, repair.operation)
    return levels, treatments

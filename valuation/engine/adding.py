"""Adding: what one operation more does to a way: for what the client chooses beside the plan.

In: a study, its answer, one way with its lines. Out: the lines that come with the operation,
and what it makes needless.
"""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.appraised_work import Line, OptionResult, tax_on
from valuation.engine.money import Price
from valuation.engine.rows.words import SEVERITIES
from valuation.engine.study import Answer, Study

_MARKED = SEVERITIES.index("marked")


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What an operation brings to a way and spares it.

    Attributes
    ----------
    lines : tuple of Line
        The operation and what it takes beside; empty where the way has it already.
    spared : frozenset of str
        Operations, fixed or if-found, that are needless with it.
    adds : float
        What the price of the fixed lines rises by, with tax.
    """

    lines: tuple[Line, ...]
    spared: frozenset[str]
    adds: float


def added(study: Study, answer: Answer, option: OptionResult, operation: str) -> Added | None:
    """Return what an operation more does to a way; None where it can't be had with it.

    Parameters
    ----------
    option : OptionResult
        The way as it was put together from that answer.
    operation : str
        Id of the operation.
    """
    catalogue, prices, scope = study.catalogue, study.prices, answer.decision.best.get(option.option)
    row = catalogue.operations.get(operation)
    if scope is None or row is None:
        return None
    planned = {line.operation: line for line in option.lines}
    if operation in planned or any(operation in catalogue.operations[name].covers for name in planned):
        return Added(lines=(), spared=frozenset(), adds=0.0)
    further = catalogue.access.further(catalogue.access.openings[scope.plan.opening], row)
    if further is None:
        return None
    wanted = [name for name in catalogue.operations if name in further and name not in planned]
    scale = answer.figures.hours_scale * answer.figures.rate_scale
    lines = (
        *(_line(study, name, prices.operations[name], scale, operation) for name in wanted),
        _line(study, operation, _whole(study, operation), scale, ""),
    )
    spared = frozenset((*row.covers, operation))  # it is no longer done only if it is found
    saved = [line for name, line in planned.items() if name in spared]
    adds = sum(line.amount for line in lines) + tax_on(lines, prices.tax)
    adds -= sum(line.amount for line in saved) + tax_on(saved, prices.tax)
    return Added(lines=lines, spared=spared, adds=adds)


def _whole(study: Study, operation: str) -> Price:
    """Return the price of an operation with its pieces: of its faults that are likely there, else of the first."""
    catalogue, condition = study.catalogue, study.condition
    price = study.prices.operations[operation]
    cures = [
        (cure, condition.network.index[row.fault])
        for cure, row in enumerate(catalogue.cures)
        if row.operation == operation
    ]
    likely = [(cure, f, int(condition.severities[f].argmax())) for cure, f in cures]
    counted = [(cure, f, s) for cure, f, s in likely if s] or [(cure, f, _MARKED) for cure, f in cures[:1]]
    hours, labour, material, outside = price.hours, price.labour, price.material, price.outside
    for cure, f, severity in counted:
        piece, count = study.prices.pieces[cure], float(study.extent.pieces[f, severity])
        hours += count * piece.hours
        labour += count * piece.labour
        material += count * piece.material
        outside += count * piece.outside
    return Price(
        hours=hours, rate=price.rate, labour=labour, material=material, outside=outside,
        own_spread=price.own_spread, other_spread=price.other_spread,
    )  # fmt: skip


def _line(study: Study, name: str, price: Price, scale: float, because: str) -> Line:
    row = study.catalogue.operations[name]
    return Line(
        operation=name,
        name=row.name,
        plain=row.plain,
        part=row.part,
        hours=price.hours,
        rate=price.rate * scale,
        labour=price.labour * scale,
        materials=price.material,
        outside=price.outside,
        amount=price.labour * scale + price.material + price.outside,
        findings=(),
        faults=(),
        because=(because,) if because else (),
        with_it=(),
        pieces=0.0,
        rows=(f"operations:{name}", f"rates:{row.where}", *(f"materials:{item.material}" for item in row.materials)),
    )

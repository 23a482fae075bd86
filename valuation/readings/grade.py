"""From figures to a finding, by the reader and the cut points of a visit file: nothing bypasses the tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from valuation.engine import evidence
from valuation.engine.network import network_of
from valuation.engine.rows import SEVERITIES, CheckRow, Tables
from valuation.errors import Problem, UserError
from valuation.facts.visit import Finding, Piano, Reading, Visit
from valuation.files.visit_findings import read_findings
from valuation.files.visit_values import Section
from valuation.readings.result import Found, Grade

ANYWHERE = "readings"
"""Name of the readings whose section isn't told."""


def row_of(tables: Tables, kind: str, check: str) -> CheckRow | None:
    """Return the row of a check; None where the shop's tables have none for this kind of piano."""
    return tables.of_kind("checks", kind).get(check)


def find(
    tables: Tables, kind: str, check: str, measured: float | Mapping[str, Sequence[float | str]], unit: str = ""
) -> tuple[Found, ...]:
    """Return the finding of something measured, with the grades that the tables give it.

    Parameters
    ----------
    tables : Tables
        The shop's tables.
    kind : str
        ``upright`` or ``grand``.
    check : str
        Id of the check.
    measured : float or mapping of section to readings
        One number, or readings by section or under `ANYWHERE`, as numbers in the unit written or as a visit file may
        have them, such as ``"~31"`` [unit].
    unit : str, optional
        Unit of the numbers; the check's own if left out.

    Returns
    -------
    tuple of Found
        One; empty where the shop's tables don't have the check.

    Raises
    ------
    UserError
        If a number is none that the check takes.
    """
    row = row_of(tables, kind, check)
    if row is None:
        return ()
    numbers = measured if isinstance(measured, Mapping) else {"value": measured}
    content = {name: _listed(value) for name, value in numbers.items()} | ({"unit": unit} if unit else {})
    faults: list[str] = []
    asked = Section({check: content}, "findings", lambda key, message: faults.append(f"{key}: {message}"))
    read, _ = read_findings(asked, Piano(kind=kind), tables)
    if faults:
        raise UserError([Problem("measured", 0, "", fault.removeprefix("findings.")) for fault in faults])
    line = _line(row, content, unit or row.unit)
    return tuple(Found(finding=f, line=line, grades=_grades(f, kind, tables)) for f in read)


def find_taken(tables: Tables, kind: str, check: str, readings: Sequence[Reading], line: str = "") -> tuple[Found, ...]:
    """Return the same of readings as they were taken, in the check's own unit, each with its place."""
    if row_of(tables, kind, check) is None:
        return ()
    finding = Finding(check=check, readings=tuple(readings))
    return (Found(finding=finding, line=line, grades=_grades(finding, kind, tables)),)


def _listed(value: float | Sequence[float | str]) -> float | list[float | str]:
    if not isinstance(value, Sequence):
        return float(value)
    return [single if isinstance(single, str) else float(single) for single in value]


def _line(row: CheckRow, content: Mapping[str, object], unit: str) -> str:
    """Return the line of a visit file that reads the same; the unit written stays."""
    if "value" in content:
        return f"{row.id} = {content['value']!r}  # {unit}"
    lists = ", ".join(f"{name} = {values!r}" for name, values in content.items() if name != "unit")
    return f'{row.id} = {{ {lists}, unit = "{unit}" }}'


def _grades(finding: Finding, kind: str, tables: Tables) -> tuple[Grade, ...]:
    usual = next(row.id for row in tables.tiers if row.usual)
    network = network_of(tables, kind, (), usual)
    visit = Visit(title="measured", on=date.min, piano=Piano(kind=kind), findings=(finding,))
    seen = evidence.read_findings(network, visit, tables.settings.usual_humidity)
    grades = [
        Grade(
            check=network.checks[check],
            number=number,
            grade=SEVERITIES[int(weights.argmax())],
            weights=tuple(weights.tolist()),
        )
        for check, weights, number in zip(seen.checks, seen.weights, seen.numbers, strict=True)
        if number is not None
    ]
    return tuple(sorted(grades, key=lambda grade: grade.check.id != finding.check))

"""What an appraisal tells of the condition: findings, faults, parts, components, and what hardly fits together.

A field's name here is its key in the public JSON.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingResult:
    """One finding and what it did.

    Attributes
    ----------
    check, name, fault : str
        `fault` that it reads; 'air' or 'use' for a hidden cause.
    grade : str
        Severity that it most likely reads.
    grades : tuple of float, length 4
        How much it counts for none, slight, marked, severe.
    number : float or None
        The number that was graded, in the check's unit.
    score_without : float
        What the score of its part would be without it [0-100].
    pull : float
        Score with it less score without it [points].
    rows : tuple of str
        Table rows behind the grade.
    """

    check: str
    name: str
    fault: str
    grade: str
    grades: tuple[float, ...]
    number: float | None
    unit: str
    score_without: float
    pull: float
    note: str
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultResult:
    """One fault of a part.

    Attributes
    ----------
    severity : str
        Severity that it most likely has, given that it is there.
    severities : tuple of float, length 4
        Odds of none, slight, marked, severe.
    makes : str
        State that the likeliest severity makes of its part.
    looks : str
        What that severity looks like.
    checks : tuple of str
        Checks made that read it.
    """

    fault: str
    name: str
    plain: str
    severity: str
    severities: tuple[float, ...]
    makes: str
    looks: str
    checks: tuple[str, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartResult:
    """The condition of one part: score and band [0-100], odds of its four states, faults and findings by weight.

    Attributes
    ----------
    faults : tuple of FaultResult
        Its faults that are more likely there than not, or forbid something, the worst first.
    why : str
        Fault that its state hangs on most; empty where none is likely.
    """

    part: str
    name: str
    component: str
    score: float
    low: float
    high: float
    states: tuple[float, ...]
    state: str
    looked_at: bool
    faults: tuple[FaultResult, ...]
    why: str
    findings: tuple[FindingResult, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentResult:
    """The condition of one component: score and band [0-100], its worst part, and the fault that it hangs on."""

    component: str
    name: str
    score: float
    low: float
    high: float
    worst_part: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Findings that hardly fit together; it never blocks.

    Attributes
    ----------
    fault, with_fault : str
        The same one twice where its own checks contradict each other.
    checks : tuple of str
        The checks behind it.
    measure : float
        Logarithm of how much less likely they are together than each by itself.
    """

    fault: str
    with_fault: str
    checks: tuple[str, ...]
    measure: float
    says: str
    rows: tuple[str, ...]

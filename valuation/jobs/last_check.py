"""The last check of one job: which standards hold for what was done, and what was measured before and after."""

from __future__ import annotations

from collections.abc import Mapping

from valuation.engine.rows import HandoverRow, Tables
from valuation.facts.visit import Visit
from valuation.jobs.handover import Checked, Place, check_handover
from valuation.jobs.recorded_job import RecordedJob


def last_check(job: RecordedJob, visit: Visit, tables: Tables) -> tuple[Checked, ...]:
    """Return each standard that holds for this job, and how the finished piano meets it.

    Parameters
    ----------
    visit : Visit
        Readings of a check with a standard's name, unit and places count as measured before the work, where nothing
        else was entered for before.

    Notes
    -----
    What was done is what hours or materials were entered for; what was agreed on where nothing was entered yet.
    """
    kind = visit.piano.kind
    standards = tables.of_kind("handover", kind)
    done = {work.operation for _, work in job.work} or {line.operation for line in job.estimate}
    before = _at_the_visit(visit, standards, tables) | {name: own for name, own in job.before.items() if own}
    return check_handover(
        list(standards.values()),
        _fitting(job.after, standards),
        done=done,
        before=_fitting(before, standards),
        absent={name: keys for name, keys in job.absent.items() if name in standards},
    )


def _fitting(
    measured: Mapping[str, Mapping[Place, float]], standards: Mapping[str, HandoverRow]
) -> dict[str, dict[Place, float]]:
    """Return what fits the standards of today: one may have gone, or be taken at other places."""
    return {
        name: {place: value for place, value in own.items() if (place.string > 0) == (standards[name].taken == "pin")}
        for name, own in measured.items()
        if name in standards
    }


def _at_the_visit(visit: Visit, standards: Mapping[str, HandoverRow], tables: Tables) -> dict[str, dict[Place, float]]:
    units = {id_: row.unit for id_, row in tables.of_kind("checks", visit.piano.kind).items()}
    found = {}
    for finding in visit.findings:
        row = standards.get(finding.check)
        if row is not None and units.get(finding.check) == row.unit:
            found[finding.check] = {
                Place(key=reading.key, string=reading.string): reading.value
                for reading in finding.readings
                if reading.key
            }
    return found

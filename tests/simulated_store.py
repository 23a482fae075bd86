"""A simulated workshop of `simulated_shop`, put into a store as if all had been entered. Everything is invented."""

from __future__ import annotations

import csv
import io
from dataclasses import fields
from datetime import UTC, datetime, time
from uuid import NAMESPACE_URL, uuid5

from simulated_shop import Shop as Simulated

from valuation.engine.rows import CheckRow, Tables
from valuation.files.recorded_visit import from_visit
from valuation.jobs.recorded_job import done_value, event_value
from valuation.record.job_card import TRUTH
from valuation.service import PACKAGED
from valuation.service.shop_tables import read_folder
from valuation.service.visits import Shop


def put_in(shop: Shop, simulated: Simulated) -> None:
    """Enter every visit with what became of it."""
    jobs = {job.visit: job for job in simulated.jobs}
    for visit in simulated.visits:
        facts = from_visit(visit)
        own = [event for event in simulated.events if event.visit == visit.title]
        facts |= {f"job.event.{event.stage}": event_value(event.stage, event.day) for event in own}
        job = jobs.get(visit.title)
        for work in job.work if job else ():
            facts[f"job.done.{work.operation}.a"] = done_value(work.hours)
        for shown in job.teardown if job else ():
            facts[f"{TRUTH}{shown.fault}"] = {"severity": shown.severity}
        if job and job.pieces:
            agreed = {"operations": [[line.operation, line.low, line.likely, line.high] for line in job.estimate]}
            facts["job.event.accepted"] |= {"agreed": agreed | {"pieces": job.pieces}}
        at = datetime.combine(visit.on, time(9), UTC)
        shop.start_visit(facts, who="simulated", device="", now=at, visit_id=uuid5(NAMESPACE_URL, visit.title).hex)


MEASURED = ("unit", "better", "cut_slight", "cut_marked", "cut_severe", "repeats_within", "lowest", "highest",
            "summary", "readings_of", "limit", "of_all", "per_ten_humidity")  # fmt: skip


def believed_texts(tables: Tables) -> dict[str, str]:
    """Return the packaged tables with every check answered in words, as the simulated shop has them."""
    texts = read_folder(PACKAGED)
    names = [field.name for field in fields(CheckRow)]
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(names)
    for row in tables.checks:
        writer.writerow(["" if name in MEASURED else _cell(getattr(row, name)) for name in names])
    return texts | {"checks": file.getvalue(), "pieces": texts["pieces"].partition("\n")[0] + "\n"}


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ";".join(value)
    return f"{value:g}" if isinstance(value, float) else str(value)

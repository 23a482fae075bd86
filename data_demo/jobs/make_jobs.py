"""Make what became of the invented evaluations: their steps, the ledger and work of one finished job, its last check.

    python -m data_demo.jobs.make_jobs

writes `jobs.json` beside this file, the same bytes each time. What the clients were told comes from the packaged
tables; days, reasons, hours and readings are invented.
"""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

from valuation import service
from valuation.engine.appraisal import Appraisal
from valuation.engine.money import tax_of
from valuation.engine.network import fits
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.jobs.recorded_job import done_value, event_value, truth_value
from valuation.jobs.told import estimate_of, told_value
from valuation.record.job_card import PROMISED, TRUTH
from valuation.report.quote import quote_of
from valuation.service.agreeing import agreement_value

SEED = 1921
FILE = Path(__file__).with_name("jobs.json")

WAYS: dict[str, list[tuple]] = {
    "1_fine_old_grand": [
        ("asked", -9),
        ("visited", 0),
        ("evaluated", 3),
        ("discussed", 17, "", "Both came to the workshop and saw the old block of another grand."),
        ("accepted", 31, "keeping_it"),
        ("in_workshop", 55),
        ("delivered", 164),
    ],
    "2_parlour_upright": [("asked", -6), ("visited", 0), ("evaluated", 4), ("retired", 36, "nobody_plays")],
    "3_school_upright": [
        ("asked", -20),
        ("visited", 0),
        ("evaluated", 3),
        ("accepted", 55, "trusted_us"),
        ("in_workshop", 146),
    ],
    "4_cracked_plate": [("asked", -2), ("visited", 0), ("evaluated", 3), ("retired", 21, "cost_over_value")],
    "5_hardly_looked_at": [("asked", -3), ("visited", 0)],
    "6_heirloom": [("asked", -14), ("visited", 0), ("evaluated", 3), ("discussed", 18), ("silent", 80, "no_answer")],
    "7_well_kept_upright": [("asked", -5), ("visited", 0), ("evaluated", 2)],
    "8_concert_society_grand": [
        ("asked", -30),
        ("visited", 0),
        ("evaluated", 6),
        ("declined", 58, "another_workshop"),
    ],
}
"""Stage, days after the visit, reason and note of each step."""

SOURCES = {
    "1_fine_old_grand": ("another client", True),
    "2_parlour_upright": ("found us", False),
    "3_school_upright": ("a teacher", True),
    "4_cracked_plate": ("the parish", None),
    "6_heirloom": ("the tuner", True),
    "7_well_kept_upright": ("found us", False),
    "8_concert_society_grand": ("another client", None),
}

PHONE = "+49 30 23125 10{number}"
"""Numbers that Germany's Bundesnetzagentur keeps free for film and the like: they ring with nobody."""

TRUTHS = {
    "plate_crack": "none",
    "plate_screws_loose": "slight",
    "board_ribs_loose": "none",
    "board_cracks": "slight",
    "board_crown_lost": "slight",
    "bass_cap_split": "marked",
    "long_cap_split": "marked",
    "holes_worn": "severe",
    "block_delaminated": "none",
    "block_split": "marked",
    "wire_rust": "marked",
    "bass_dead": "marked",
    "hammers_grooved": "severe",
    "hammer_heads_loose": "slight",
    "centres_loose": "marked",
    "dampers_leaking": "marked",
    "key_bushings_worn": "marked",
}
PROMISED_AFTER = 332
"""Days from the visit to the one that the school was promised: its spring concert."""

PEOPLE = ("Jule Steinbr\u00fcck", "Tom Arends")
ORIGINAL = ["plate", "soundboard", "frame", "cabinet"]


def fields_of(name: str, visit: Visit, found: Appraisal, book: Tables, chance: Random) -> dict[str, Any]:
    """Return what is entered for one evaluation."""
    fields: dict[str, Any] = {}
    for place, (stage, after, *why) in enumerate(WAYS[name]):
        day = visit.on + timedelta(days=after)
        told = told_value(found, visit, book, on=day) if stage == "evaluated" else None
        reason, note = (*why, "", "")[:2]
        fields[f"job.event.demo{place}"] = event_value(stage, day, reason=reason, note=note, told=told)
        if stage == "accepted":
            quote = quote_of(found.best, tax_of(book, found.on))
            price = float(quote.total - quote.total % 100)  # haggled down to a round sum
            fields["job.agreement"] = agreement_value(found.best, quote, visit.piano, book, on=day, price=price)
            fields |= money(day, price)
    if name in SOURCES:
        fields["client.phone"] = PHONE.format(number=name[0])
        source, referred = SOURCES[name]
        fields |= {"job.source": source, "job.referred": referred}
    if name == "5_hardly_looked_at":
        day = visit.on + timedelta(days=9)
        fields["job.next"] = {"what": "see it again, with the action out", "day": day.isoformat()}
    if name == "1_fine_old_grand":
        fields |= finished(visit, found, book, chance)
        fields |= answered(fields["job.agreement"], visit, chance)
    if name == "3_school_upright":
        fields |= work(visit, found, book, chance, most=4)
        fields[PROMISED] = {"day": (visit.on + timedelta(days=PROMISED_AFTER)).isoformat()}
    return {field: value for field, value in fields.items() if value is not None}


def work(visit: Visit, found: Appraisal, book: Tables, chance: Random, most: int = 99) -> dict[str, Any]:
    """Return hours for the operations agreed on: some more than estimated, some less."""
    fields = {}
    day = visit.on + timedelta(days=60)
    for line in estimate_of(found, found.verdict, book, visit.piano)[:most]:
        day += timedelta(days=chance.randint(1, 6))
        hours = round(line.likely * chance.lognormvariate(0.1, 0.22) * 4) / 4
        if hours:
            who = chance.choice(PEOPLE)
            fields[f"job.done.{line.operation}.demo"] = done_value(hours, day=day, who=who)
            if hours < line.likely * 1.05:
                fields[f"job.finished.{line.operation}"] = {"day": day.isoformat()}
    return fields


def money(agreed_on: date, price: float) -> dict[str, Any]:
    """Return what was charged for the visit, and the deposit."""
    deposit = {"what": "deposit", "amount": round(0.3 * price, 2), "day": (agreed_on + timedelta(days=6)).isoformat()}
    return {"job.fee": 90.0, "job.money.demo0": deposit}


def answered(agreement: dict[str, Any], visit: Visit, chance: Random) -> dict[str, Any]:
    """Return what became of the if-found lines, the rest of the money, and one thing that came back."""
    day = (visit.on + timedelta(days=70)).isoformat()
    fields: dict[str, Any] = {}
    for row in agreement["if_found"]:
        needed = chance.random() < row["chance"]
        answer = "not_needed" if not needed else "no" if chance.random() < 0.2 else "yes"
        fields[f"job.found.{row['key']}"] = {"answer": answer, "day": day}
        if answer == "yes" and "hours" in row:
            value = done_value(round(row["hours"][1] * 4) / 4, day=date.fromisoformat(day), who=PEOPLE[1])
            fields[f"job.done.{row['operation']}.found"] = value
    done = sum(row["price"] for row in agreement["if_found"] if fields[f"job.found.{row['key']}"]["answer"] == "yes")
    rest = round(0.7 * agreement["price"] + done, 2)
    gone = visit.on + timedelta(days=164)
    fields["job.money.demo1"] = {"what": "invoice", "amount": rest, "day": gone.isoformat()}
    fields["job.money.demo2"] = {"what": "payment", "amount": rest, "day": (gone + timedelta(days=12)).isoformat()}
    fields["job.return.demo0"] = {
        "day": (gone + timedelta(days=40)).isoformat(), "delivered": gone.isoformat(), "cause": "climate",
        "part": "dampers", "hours": 1.5, "who": PEOPLE[0], "note": "one damper stuck in a dry room",
    }  # fmt: skip
    return fields


def finished(visit: Visit, found: Appraisal, book: Tables, chance: Random) -> dict[str, Any]:
    """Return the work, what teardown showed, what stayed original, and the last check of the finished job."""
    fields = work(visit, found, book, chance)
    faults = {row.id: row for row in book.faults if fits(row, visit.piano.kind, visit.piano.features)}
    fields |= {f"{TRUTH}{name}": truth_value(faults[name], severity) for name, severity in TRUTHS.items()}
    fields["job.original"] = ORIGINAL
    fields["job.after.pin_torque"] = [
        [key, string, round(chance.gauss(12.4, 0.25), 2)]
        for key in range(1, 89)
        for string in range(1, 2 if key < 9 else 3 if key < 29 else 4)
    ]
    fields["job.after.pin_torque"][41][2] = 10.9
    fields["job.after.pitch"] = notes(chance, 0.0, 0.5)
    fields["job.before.key_dip"] = notes(chance, 9.0, 0.5)
    fields["job.after.key_dip"] = notes(chance, 10.0, 0.06)
    fields["job.after.let_off"] = [[k, 0, round(3.0 - 1.4 * k / 88 + chance.gauss(0, 0.06), 1)] for k in range(1, 89)]
    fields["job.after.aftertouch"] = notes(chance, 1.0, 0.07)[:80]
    fields["job.after.damper_lift"] = notes(chance, 5.0, 0.05)[:66]
    return fields


def notes(chance: Random, middle: float, spread: float) -> list[list[float]]:
    """Return a reading of every note."""
    return [[key, 0, round(chance.gauss(middle, spread), 2)] for key in range(1, 89)]


def main() -> None:
    """Write the file."""
    book, chance = service.load_shop(), Random(SEED)
    made = {}
    for _, path in service.demo_visits():
        visit = service.read_visit_file(path, book, date.max)
        found = service.appraise(visit, book, on=visit.on)
        made[path.stem] = fields_of(path.stem, visit, found, book, chance)
    lines = [
        f" {json.dumps(name)}: {{\n"
        + ",\n".join(f"  {json.dumps(field)}: {json.dumps(value)}" for field, value in fields.items())
        + "\n }"
        for name, fields in made.items()
    ]
    FILE.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    main()

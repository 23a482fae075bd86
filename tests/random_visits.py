"""Made-up visits from the tables of faults: any findings at all, or findings that a hidden truth gives rise to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from graphlib import TopologicalSorter

import numpy as np

from valuation.engine.condition import prior_of
from valuation.engine.network import Network, network_of
from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import CAUSES, SECTIONS, SEVERITIES
from valuation.facts.visit import Client, Finding, Piano, Reading, Visit

ON = date(2026, 5, 4)
PIECES = 24
"""So many pieces are read one by one."""


def random_piano(tables: Tables, rng: np.random.Generator, kind: str = "") -> Piano:
    """Return any piano that the tables can tell of; few have a feature, since each sort's choices are laid out anew."""
    kind = kind or str(rng.choice(["upright", "grand"]))
    sizes = [row for row in tables.sizes if row.kind == kind]
    size = sizes[int(rng.integers(len(sizes)))]
    features = [row.id for row in tables.features if row.kinds in (kind, "both")]
    year = int(rng.integers(1872, 2015))
    renewed = [row.id for row in tables.parts if not row.only_with and rng.random() < 0.08]
    return Piano(
        kind=kind,
        size_mm=float(rng.uniform(max(size.from_mm, 900), min(size.to_mm, 3000))),
        year=year if rng.random() < 0.9 else None,
        year_is_about=bool(rng.random() < 0.3),
        tier=str(rng.choice([row.id for row in tables.tiers])),
        features=(str(rng.choice(features)),) if rng.random() < 0.1 else (),
        renewed=tuple((part, int(rng.integers(year, 2021))) for part in renewed),
    )


def random_client(rng: np.random.Generator) -> Client:
    """Return a client with any wishes; one in four has a budget."""
    return Client(
        wants_to_play=bool(rng.random() < 0.8),
        to_have=float(rng.choice([0, 0, 500, 2000, 6000])),
        to_hear=float(rng.choice([0, 0, 1000, 8000, 20000])),
        horizon_years=float(rng.choice([5, 8, 15, 25])),
        budget=float(np.exp(rng.uniform(5.5, 10))) if rng.random() < 0.25 else None,
    )


def network_for(tables: Tables, piano: Piano) -> Network:
    """Return the network of a piano's sort."""
    tier = piano.tier or next(row.id for row in tables.tiers if row.usual)
    return network_of(tables, piano.kind, tuple(sorted(piano.features)), tier)


def finding_of(tables: Tables, check: CheckRow, severity: int, rng: np.random.Generator) -> Finding:
    """Return a finding that reads about so; as near to it as the check can tell."""
    there = [0, *(s for s in (1, 2, 3) if check.answer == "choice" or _cut(check, s) is not None)]
    if check.answer == "choice":
        there = [SEVERITIES.index(word) for word in check.choices]
    reads = min(there, key=lambda s: (abs(s - severity), s))
    if check.answer == "choice":
        return Finding(check=check.id, grade=SEVERITIES[reads])
    if check.summary == "pieces":
        rows = [row for row in tables.pieces if row.check == check.id and row.given == SEVERITIES[reads]]
        share = np.array([row.share for row in rows])
        values = rng.choice([row.middle for row in rows], PIECES, p=share / share.sum())
        return _readings(check, values + rng.uniform(-0.5, 0.5, PIECES))
    number = _number(check, reads, rng)
    if check.answer == "number":
        return _readings(check, np.array([number]))
    return _readings(check, _values(check, number, rng))


def _cut(check: CheckRow, severity: int) -> float | None:
    return (None, check.cut_slight, check.cut_marked, check.cut_severe)[severity]


def _number(check: CheckRow, severity: int, rng: np.random.Generator) -> float:
    """Return a number well within the stretch that the cut points give to a severity."""
    worse = [cut for s in (1, 2, 3) if s > severity and (cut := _cut(check, s)) is not None]
    cuts = [cut for s in (1, 2, 3) if (cut := _cut(check, s)) is not None]
    step = (check.repeats_within or 1.0) * 4
    if len(cuts) > 1:
        step = abs(cuts[-1] - cuts[0]) / (len(cuts) - 1)
    down = 1.0 if check.better == "high" else -1.0
    begin = _cut(check, severity) if severity else cuts[0] + down * step
    end = worse[0] if worse else begin - down * step
    assert begin is not None
    if not severity:
        begin, end = begin, cuts[0]
    return float(begin + rng.uniform(0.2, 0.8) * (end - begin))


def _values(check: CheckRow, number: float, rng: np.random.Generator) -> np.ndarray:
    """Return readings that come to about a number."""
    within = check.repeats_within or 0.0
    if check.summary.startswith("share"):
        assert check.limit is not None
        tried = int(rng.integers(4, 25))
        bad = rng.random(tried) < np.clip(number / 100, 0, 1)
        beyond = -1.0 if check.summary == "share_below" else 1.0
        return check.limit + np.where(bad, beyond, -beyond) * max(within, 0.01)
    if check.summary == "spread":
        return np.array([0.0, abs(number)])
    if check.summary == "worst_section":
        return np.full(len(SECTIONS) * 3, number)
    return number + within * rng.standard_normal(int(rng.integers(3, 13)))


def _readings(check: CheckRow, values: np.ndarray) -> Finding:
    low = -np.inf if check.lowest is None else check.lowest
    high = np.inf if check.highest is None else check.highest
    sections = [SECTIONS[i % 3] if check.summary == "worst_section" else "" for i in range(len(values))]
    read = zip(np.clip(values, low, high).tolist(), sections, strict=True)
    return Finding(check=check.id, readings=tuple(Reading(value=value, section=section) for value, section in read))


def random_visit(
    tables: Tables,
    rng: np.random.Generator,
    *,
    kind: str = "",
    piano: Piano | None = None,
    client: Client | None = None,
    made: float | None = None,
) -> Visit:
    """Return a visit with findings that need not make sense together, each as likely to read well as badly."""
    piano = piano or random_piano(tables, rng, kind)
    made = float(rng.choice([0.0, 0.2, 0.5, 1.0])) if made is None else made
    good = float(rng.choice([0.3, 0.7, 0.95]))
    findings = tuple(
        finding_of(tables, check, 0 if rng.random() < good else int(rng.integers(1, 4)), rng)
        for check in network_for(tables, piano).checks.values()
        if not check.readings_of and rng.random() < made
    )
    return Visit(
        title="made up", on=ON, piano=piano, client=client or random_client(rng), findings=findings,
        humidity=float(rng.uniform(30, 65)) if rng.random() < 0.3 else None,
    )  # fmt: skip


def in_words(tables: Tables) -> Tables:
    """Return the tables with every check answered by one of four words, so that a reading is found as it is drawn."""
    checks = tuple(
        replace(
            row, answer="choice", summary="", readings_of="", none="a: a", slight="b: b", marked="c: c", severe="d: d"
        )
        for row in tables.checks
    )
    return replace(tables, checks=checks)


@dataclass(frozen=True, eq=False)
class Lived:
    """Pianos of one sort with the truth behind them, n of each. F faults, C checks.

    Attributes
    ----------
    cause : ndarray of int, shape (n,)
        Joint cause.
    severities : ndarray of int, shape (n, F)
    reads : ndarray of int, shape (n, C)
        What each check reads; -1 where it was not made.
    """

    tables: Tables
    network: Network
    piano: Piano
    cause: np.ndarray
    severities: np.ndarray
    reads: np.ndarray

    @property
    def states(self) -> np.ndarray:
        """The true state of each part, shape (n, P): as bad as its worst fault."""
        makes = np.take_along_axis(self.network.makes, self.severities.T, axis=1)
        return np.maximum.reduceat(makes, self.network.first[:-1], axis=0).T

    def visit(self, i: int, rng: np.random.Generator, client: Client = Client()) -> Visit:  # noqa: B008
        """Return the visit to piano i."""
        found = zip(self.network.checks.values(), self.reads[i].tolist(), strict=True)
        findings = tuple(
            finding_of(self.tables, check, read, rng) for check, read in found if read >= 0 and not check.readings_of
        )
        return Visit(title=f"piano {i}", on=ON, piano=self.piano, client=client, findings=findings)


def live(tables: Tables, piano: Piano, n: int, rng: np.random.Generator, *, made: float = 0.6) -> Lived:
    """Draw pianos from the tables themselves: causes, severities, and what the checks made would read.

    What several checks of one fault look at together is drawn once, as the tables' view of it; follow-ups are asked
    only where the answer before calls for them.

    Parameters
    ----------
    made : float
        Share of the checks that is made.
    """
    network = network_for(tables, piano)
    prior = prior_of(tables, network, piano, ON.year)
    cause = _drawn(np.tile(network.hidden, (n, 1)), rng)
    severities = np.stack([_drawn(prior[f][cause], rng) for f in range(len(network.faults))], axis=1)
    checks = list(network.checks.values())
    place = {row.id: c for c, row in enumerate(checks)}
    is_made = rng.random((n, len(checks))) < made
    rows = {row.given: [row.none, row.slight, row.marked, row.severe] for row in tables.readings if row.id == "view"}
    view = np.array([rows[s] for s in SEVERITIES]) if rows else np.eye(4)
    seen: dict[str, np.ndarray] = {}
    reads = np.empty((n, len(checks)), dtype=int)
    for c, check in enumerate(checks):
        if check.reads in CAUSES:
            reads[:, c] = _drawn(network.sureness[check.id][cause], rng)
        else:
            truth = severities[:, network.index[check.reads]]
            if check.family:
                word = f"{check.reads}:{check.family}"
                alike = [d for d, other in enumerate(checks) if f"{other.reads}:{other.family}" == word]
                if word not in seen:
                    seen[word] = _drawn(view[truth], rng)
                # One look alone is told by its own sureness.
                truth = np.where(is_made[:, alike].sum(axis=1) > 1, seen[word], truth)
            reads[:, c] = _drawn(network.sureness[check.id][truth], rng)
    # A check may stand above the one it is asked after: all are read before any is left out.
    after = {place[check.id]: [place[name] for name in (check.asked_after,) if name in place] for check in checks}
    for c in TopologicalSorter(after).static_order():
        for before in after[c]:
            asked = is_made[:, before] & (reads[:, before] >= SEVERITIES.index(checks[c].asked_from))
            is_made[:, c] &= asked | bool(checks[c].family)
    reads[~is_made] = -1
    return Lived(tables=tables, network=network, piano=piano, cause=cause, severities=severities, reads=reads)


def _drawn(chance: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Draw one column of each row by its chances."""
    marks = np.cumsum(chance, axis=1)
    return (rng.random((len(chance), 1)) * marks[:, -1:] > marks[:, :-1]).sum(axis=1)

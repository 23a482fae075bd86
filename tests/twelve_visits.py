"""Twelve pianos, each with what is wrong with it, and what a master of the trade would say to it.

All are invented. What is expected was written down before the engine saw them. A piano is told by its true faults;
`visit_of` lets a careful technician make the whole walk and read each fault as it is, so that a verdict that surprises
comes from the odds, the remedies or the prices and not from an odd reading.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import CAUSES, LEVELS_OF_CAUSE, SEVERITIES

# The dataclasses of a visit are imported here alone.
from valuation.facts.visit import Client, Finding, Piano, Reading, Visit
from valuation.rules.pianos import holds_for

ON = date(2026, 11, 30)

AS_ITS_AGE = {
    "hammers_grooved": "slight",
    "wire_rust": "slight",
    "holes_worn": "slight",
    "board_cracks": "slight",
    "regulation_uneven": "slight",
    "key_bushings_worn": "slight",
    "unisons_out": "slight",
    "pitch_low": "slight",
    "finish_worn": "slight",
    "dirt": "slight",
}
"""What a kept piano of a hundred years shows though nothing on it is wrong: common practice."""

NOT_IN_A_WALK = frozenset({"strings"})
"""Access that only the workshop has."""


@dataclass(frozen=True)
class Expected:
    """What a master says. Hours and prices are of the verdict's plan: what is expected, tax included.

    Attributes
    ----------
    verdicts : tuple of str
        Words that he would sign; the first is his own.
    hours, price : (float, float)
        Range of the fixed lines [h], and of the expected price at about 83 an hour with tax.
    works : tuple of tuple of str
        Of each of these, one operation at least stands among the fixed lines.
    never : tuple of str
        Operations that he would not have among the fixed lines of this verdict.
    stops : tuple of str
        Acts that must be forbidden today; no others may be.
    beside : str
        Scope that is worked out beside the verdict, whose hours and price are meant instead; empty: the verdict's.
    says : str
        In his words.
    """

    verdicts: tuple[str, ...]
    says: str
    hours: tuple[float, float] | None = None
    price: tuple[float, float] | None = None
    works: tuple[tuple[str, ...], ...] = ()
    never: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    beside: str = ""
    ready: bool = True


@dataclass(frozen=True)
class Case:
    """One piano with its faults, and what is expected of it."""

    id: str
    piano: Piano
    expected: Expected
    faults: dict[str, str] = field(default_factory=dict)
    readings: dict[str, tuple[Reading, ...]] = field(default_factory=dict)
    counts: dict[str, float] = field(default_factory=dict)
    client: Client = Client()
    looked: bool = True
    use: str = "ordinary"
    air: str = "seasonal"


def upright(year: int, tier: str, size_mm: float = 1300, **more: object) -> Piano:
    return Piano(kind="upright", year=year, tier=tier, size_mm=size_mm, **more)  # type: ignore[arg-type]


def grand(year: int, tier: str, size_mm: float, **more: object) -> Piano:
    return Piano(kind="grand", year=year, tier=tier, size_mm=size_mm, **more)  # type: ignore[arg-type]


def pins(bass: float, rest: float) -> tuple[Reading, ...]:
    """A dozen tuning pins in each section, spread by a tenth [N m]."""
    spread = (0.9, 0.95, 1.0, 1.0, 1.05, 1.1) * 2
    return tuple(
        Reading(value=round(level * by, 2), section=section)
        for section, level in (("bass", bass), ("tenor", rest), ("treble", rest))
        for by in spread
    )


CASES = (
    Case(
        id="broken_shank",
        piano=upright(2014, "good", 1250),
        faults={"notes_dead": "slight", "shanks_broken": "slight"},
        counts={"note_dead": 1, "shanks_mended": 1},
        air="stable",
        expected=Expected(
            verdicts=("partial_repair",),
            hours=(2, 5),
            price=(150, 450),
            works=(("shank_replaced",), ("tune",)),
            never=("regulate", "hammers_reshaped", "new_hammers", "to_workshop"),
            says="A new shank, the head back on its line, its let-off set, and the piano tuned: half a morning.",
        ),
    ),
    Case(
        id="loose_bass",
        piano=upright(1925, "good"),
        faults=AS_ITS_AGE | {"section_loose": "marked", "bass_dead": "slight"},
        readings={"pin_torque": pins(3.6, 8.2), "pin_torque_section": pins(3.6, 8.2)},
        expected=Expected(
            verdicts=("partial_repair",),
            hours=(10, 22),
            price=(900, 2000),
            works=(("pins_larger_section", "holes_plugged_few"), ("bass_strings_off",)),
            never=("new_block", "restring", "strings_off", "new_hammers", "to_workshop"),
            says="The bass strings off, bass pins one size up, strings back; the rest of the block holds and is left.",
        ),
    ),
    Case(
        id="dead_board",
        piano=grand(1925, "finest", 2110),
        faults=AS_ITS_AGE
        | {
            "board_no_tone": "severe",
            "board_killer_octave": "severe",
            "board_bearing_lost": "severe",
            "board_crown_lost": "marked",
            "holes_worn": "marked",
            "wire_rust": "marked",
            "hammers_grooved": "marked",
            "hammers_felt_thin": "marked",
        },
        expected=Expected(
            verdicts=("rebuild",),
            hours=(230, 360),
            price=(20000, 36000),
            works=(
                ("new_soundboard",),
                ("restring",),
                ("new_block", "block_oversize_pins", "block_plugged"),
                ("recap_treble_bridge", "new_long_bridge"),
            ),
            says="New board, caps and bearing, strings and block with it; or sell it as it is. Nothing between.",
        ),
    ),
    Case(
        id="cracked_concert_grand",
        piano=grand(1925, "high", 2740),
        faults=AS_ITS_AGE | {"plate_crack": "severe"},
        expected=Expected(
            verdicts=("retire", "rebuild", "partial_repair"),
            stops=("tune", "raise", "move"),
            never=("tune", "pitch_raise"),
            says="Not tuned, not carried before the tension is down. Sold as it stands, or to a specialist, and told.",
        ),
    ),
    Case(
        id="cracked_upright",
        piano=upright(1908, "ordinary"),
        faults=AS_ITS_AGE | {"plate_crack": "severe"},
        expected=Expected(
            verdicts=("retire",),
            stops=("tune", "raise", "move"),
            says="No tuning; worth its parts. Let down before it is carried. No stitching for such a piano.",
        ),
    ),
    Case(
        id="moth",
        piano=grand(1935, "good", 1800),
        faults=AS_ITS_AGE | {"hammers_moth": "severe", "vermin": "slight"},
        readings={"hammer_moth": (Reading(value=40),)},
        expected=Expected(
            verdicts=("partial_repair",),
            hours=(30, 60),
            price=(2800, 6000),
            works=(("new_hammers", "new_hammers_and_shanks"), ("regulate",), ("voice",)),
            never=("restring", "new_block", "new_soundboard"),
            says="New hammers, regulation and voicing. The old felt leaves the house, the piano is cleaned.",
        ),
    ),
    Case(
        id="verdigris",
        piano=grand(1928, "good", 1800),
        faults=AS_ITS_AGE | {"centres_verdigris": "severe", "centres_seized": "severe", "notes_slow": "severe"},
        expected=Expected(
            verdicts=("partial_repair", "retire"),
            hours=(55, 95),
            price=(5500, 12500),
            works=(("action_rows_renewed", "action_overhaul"), ("regulate",)),
            never=("centres_repinned", "restring", "new_block"),
            beside="put_right",
            says="No pins: both rows new, regulated, or nothing spent on this action. A price for that first.",
        ),
    ),
    Case(
        id="delaminated_block",
        piano=grand(1927, "plain", 1500),
        faults=AS_ITS_AGE
        | {"block_delaminated": "severe", "holes_worn": "severe", "pins_do_not_hold": "severe", "pitch_low": "marked"},
        expected=Expected(
            verdicts=("retire",),
            stops=("raise",),
            says="A new block costs more than the piano fetches, glue does not hold open plies. It is done.",
        ),
    ),
    Case(
        id="school_upright",
        piano=upright(1976, "good", 1220),
        faults={
            "regulation_uneven": "marked",
            "hammers_grooved": "marked",
            "lost_motion": "marked",
            "notes_dead": "slight",
            "keys_sticking": "slight",
            "key_bushings_worn": "slight",
            "trapwork_worn": "marked",
            "unisons_out": "marked",
            "pitch_low": "slight",
            "finish_worn": "slight",
            "wire_rust": "slight",
            "dirt": "slight",
        },
        counts={"note_dead": 2},
        use="heavy",
        client=Client(purpose="music room of a school", budget=1500, wants_to_play=True),
        expected=Expected(
            verdicts=("partial_repair",),
            hours=(7, 17),
            price=(600, 1500),
            works=(("regulate_lightly", "regulate", "lost_motion_set"), ("tune", "pitch_raise")),
            never=("new_hammers", "restring", "to_workshop", "keys_rebushed"),
            says="Hammers filed, lost motion and regulation gone over, two notes and a key freed, pedals quiet, tuned.",
        ),
    ),
    Case(
        id="heirloom",
        piano=upright(1908, "good"),
        faults=AS_ITS_AGE
        | {
            "holes_worn": "severe",
            "wire_rust": "marked",
            "bass_dead": "severe",
            "hammers_felt_thin": "severe",
            "hammers_grooved": "marked",
            "leathers_worn": "severe",
            "action_felts_worn": "severe",
            "damper_felt_hard": "severe",
            "dampers_leaking": "marked",
            "regulation_uneven": "severe",
            "key_bushings_worn": "severe",
            "long_cap_split": "marked",
            "pitch_low": "severe",
        },
        client=Client(purpose="grandmother's piano, to be played again", to_have=3000, to_hear=20000),
        expected=Expected(
            verdicts=("rebuild",),
            hours=(130, 230),
            price=(12000, 22000),
            works=(
                ("restring",),
                ("block_oversize_pins", "block_plugged", "new_block"),
                ("new_hammers", "new_hammers_and_shanks"),
                ("action_overhaul", "action_rows_renewed", "leathers_renewed"),
                ("damper_felts", "damper_levers_renewed"),
                ("regulate",),
            ),
            never=("new_soundboard",),
            stops=("raise",),
            says="Strings, pins, hammers, action and keys new on a board that still sings; dearer than what it brings.",
        ),
    ),
    Case(
        id="nothing_seen",
        piano=upright(1910, "ordinary"),
        looked=False,
        expected=Expected(
            verdicts=("retire", "keep", "partial_repair", "rebuild"),
            ready=False,
            says="I have not looked at it. Not evaluated.",
        ),
    ),
    Case(
        id="flooded",
        piano=upright(1960, "ordinary", 1200),
        faults={
            "frame_wet": "severe",
            "block_wet": "severe",
            "board_wet": "severe",
            "wire_rust": "severe",
            "mould": "marked",
            "keys_sticking": "severe",
            "centres_seized": "severe",
            "veneer_loose": "severe",
            "carcass_loose": "marked",
            "pitch_low": "severe",
            "unisons_out": "severe",
        },
        air="harsh",
        expected=Expected(
            verdicts=("retire",),
            stops=("raise", "move"),
            says="It stood in water. Nobody certifies the wood again; for such a piano nobody pays to try.",
        ),
    ),
    Case(
        id="all_good",
        piano=upright(1970, "good", 1200),
        faults={"unisons_out": "slight", "finish_worn": "slight"},
        air="stable",
        use="light",
        expected=Expected(
            verdicts=("keep",),
            hours=(1.5, 3.0),
            price=(120, 280),
            works=(("tune",),),
            never=("regulate", "regulate_lightly", "to_workshop"),
            says="Tune it, and leave it alone.",
        ),
    ),
)


def visit_of(case: Case, tables: Tables) -> Visit:
    """Return the visit of one case: the whole walk, each check answered as the piano is."""
    findings = tuple(_findings(case, tables)) if case.looked else ()
    return Visit(title=case.id, on=ON, piano=case.piano, client=case.client, humidity=45, findings=findings)


def _findings(case: Case, tables: Tables) -> Iterator[Finding]:
    piano = (case.piano.kind, frozenset(case.piano.features))
    answered: dict[str, str] = {}
    for check in tables.checks:
        if not holds_for(check, piano) or check.access in NOT_IN_A_WALK or check.readings_of:
            continue
        if check.asked_after and not _asked(check, answered) and check.reads not in case.faults:
            continue
        if check.reads in CAUSES:
            if check.answer == "choice":
                yield Finding(check=check.id, grade=_of_cause(case, check))
            continue
        answered[check.id] = severity = _worded(check, case.faults.get(check.reads, "none"))
        if check.answer == "choice":
            yield Finding(check=check.id, grade=severity)
            continue
        # A number that two checks read shows what is wrong, whichever of them reads that.
        shown = next((c for c in _sharing(tables, check, piano) if c.reads in case.faults), check)
        yield Finding(
            check=check.id, readings=_readings(case, check, shown, _worded(shown, case.faults.get(shown.reads, "none")))
        )


def _sharing(tables: Tables, check: CheckRow, piano: tuple[str, frozenset[str]]) -> tuple[CheckRow, ...]:
    return (check, *(c for c in tables.checks if c.readings_of == check.id and holds_for(c, piano)))


def _asked(check: CheckRow, answered: dict[str, str]) -> bool:
    got = answered.get(check.asked_after, "none")
    return SEVERITIES.index(got) >= SEVERITIES.index(check.asked_from)


def _of_cause(case: Case, check: CheckRow) -> str:
    level = case.air if check.reads == "air" else case.use
    return _worded(check, SEVERITIES[LEVELS_OF_CAUSE[check.reads].index(level)])


def _worded(check: CheckRow, severity: str) -> str:
    """Return the severity, or the next one that the check has a word for."""
    if check.answer != "choice":
        return severity
    worded = [SEVERITIES.index(word) for word in check.choices]
    return SEVERITIES[min(worded, key=lambda s: abs(s - SEVERITIES.index(severity)))]


def _readings(case: Case, check: CheckRow, shown: CheckRow, severity: str) -> tuple[Reading, ...]:
    """Return readings of `check` by which `shown`, itself or one that shares them, reads a severity."""
    if check.id in case.readings:
        return case.readings[check.id]
    value = case.counts.get(check.id, _number(shown, severity))
    if shown.summary == "worst_section":
        return pins(value, _number(check, "none"))
    if shown.summary == "spread":
        return (Reading(value=0.0), *(Reading(value=-value),) * 2)
    return pins(value, value) if check.summary == "pieces" else (Reading(value=value),)


def _number(check: CheckRow, severity: str) -> float:
    """Return a number in the middle of what reads so, half a step inside the outer ones."""
    cuts = [cut for cut in (check.cut_slight, check.cut_marked, check.cut_severe) if cut is not None]
    step = cuts[-1] - cuts[0] if len(cuts) > 1 else abs(cuts[0]) or 1.0
    edges = [cuts[0] - step / 2, *cuts, cuts[-1] + step / 2]
    i = min(SEVERITIES.index(severity), len(cuts))
    number = (edges[i] + edges[i + 1]) / 2
    if check.unit == "count":
        number = float(round(number)) if i else 0.0
    low = -float("inf") if check.lowest is None else check.lowest
    high = float("inf") if check.highest is None else check.highest
    return min(max(number, low), high)

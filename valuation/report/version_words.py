"""What is to be said of a way as the client wants it: what stays worn at their wish, what is not in its price. Pure."""

from __future__ import annotations

from valuation.language import say
from valuation.report.case import Case
from valuation.report.client_words import listed, question_name, way_name
from valuation.report.fault_words import BAD, fault_sentence
from valuation.report.their_version import NoVersion, TheirVersion
from valuation.report.ways import refusal_words


def version_words(version: TheirVersion | NoVersion, case: Case) -> tuple[str, ...]:
    """Return what is to be said of a way as the client wants it, a sentence each; nothing where nothing is special."""
    if isinstance(version, NoVersion):
        if version.way not in case.prospects:
            return ()  # there is no such way whatever they wish
        way = way_name(version.way)
        why = refusal_words(version.why_not) if version.why_not else say("The work needs what is to stay.")
        return (say("{way}: this cannot be done as you want it. {why}", way=way, why=why),)
    said = []
    names = case.part_names(version.left)
    if names:
        said.append(say("At your wish this stays as it is: {parts}.", parts=listed(names)))
        said += _left_with(version, case)
    said += [
        say(
            "You want this left as it is: {part}. The work for '{choice}' would change it, so it is not in the price. "
            "Tell us which of the two you want.",
            part=case.part_name(case.operations[row.operation].part),
            choice=f"{question_name(row.question)}: {say(row.name)}",
        )
        for row in version.against_wish
    ]
    said += [
        say(
            "Not in the price: '{choice}'. We quote it by itself.",
            choice=f"{question_name(row.question)}: {say(row.name)}",
        )
        for row in version.not_in_price
    ]
    return tuple(said)


def _left_with(version: TheirVersion, case: Case) -> list[str]:
    """Return what is wrong with the parts that stay at the client's wish."""
    return [
        say("It stays with this fault: {fault}", fault=fault_sentence(fault))
        for part in case.found.parts
        if part.part in version.left
        for fault in part.faults
        if fault.checks and fault.severity in BAD
    ]

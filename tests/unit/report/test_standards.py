"""What a report on a value, and an aid to a decision, are expected to state: each item points at its sentence.

Reports: USPAP 2024, Standards Rule 8-2(a), contents of an appraisal report on personal property. The tool's paper is no
appraisal; the list is a yardstick. Aids: IPDAS, the minimum criteria of Joseph-Williams and others, 'Toward Minimum
Standards for Certifying Patient Decision Aids', Medical Decision Making 34 (2014), carried over to a piano. Both lists
in our own words, from memory.
"""

from __future__ import annotations

from functools import cache

import pytest
from demo_pianos import EVALUATED, content_of

from valuation.report.document import as_text
from valuation.report.wishes import Wishes

REPORT = {
    "who asked for it": "For: ",
    "what it is for": "It is written so that you can decide",
    "what it may not be used for": "It may not be used for tax, insurance",
    "what identifies the piano": "Serial number",
    "the interest that is valued": "What is valued is the whole of the piano, owned outright",
    "the kind of value, its definition and source": "'Value' of the piano means its ordinary value",
    "the day of the value, and of the paper": "Values and prices are as of",
    "how far it was looked at": "were made at the visit",
    "what was not looked at": "A check that was not made is counted as not known, never as good.",
    "who took part": "Nobody else is noted as having taken part.",
    "that a program was used": "A program worked out the figures",
    "what the signer has learned": "has learned: Piano maker",
    "earlier work on it by the signer": "Work by this workshop on this piano before the visit: "
    "its books were not searched for this paper; ask the workshop.",
    "how values were come by": "Value: by comparing with what such pianos sell for",
    "what was left aside, and why": "What it cost, or would cost to build again, was left aside",
    "how they were weighed": "Only one way to a value was open",
    "how long it would be offered": "for three to twelve months",
    "hypothetical conditions": "Each value after work stands on a hypothetical condition",
    "assumptions": "One assumption weighs more than others",
    "the signer's interest": "Whoever writes this evaluation also sells the work",
    "what the fee is, and whether it hangs on a job": "It is taken off the bill of a job",
    "that it certifies nothing": "This certifies nothing.",
    "who may certify": "a publicly appointed and sworn expert",
    "limits": "It holds for the piano as it was seen on",
    "a signature": "Evaluated by: ____",
}

AID = {
    "the decision is named": "to keep the piano, to repair it, to rebuild it, or to part with it",
    "all ways are told, doing nothing among them": "Keep it as it is",
    "good sides and bad sides, alike": "Good sides",
    "what it is like to live with each": "To play, and to live with",
    "chances as counts of the same hundred": "of 100",
    "over the same time": "Can you still play it after 5 years?",
    "what is uncertain": "What would change it:",
    "the weakest link": "These odds are from memory and common practice, and are the weakest link.",
    "that prices are invented, where they are": "The tables still hold invented prices",
    "where figures come from": "the shop's table of prices",
    "how old they are": "prices of",
    "until when they hold": "These figures h",
    "what the client said matters": "You told us:",
    "who wrote it, and what they gain": "also sells the work",
    "whom else to ask": "Others who can be asked:",
}


@cache
def evaluation_of(name: str) -> str:
    return as_text(content_of(name, wishes=Wishes(cost=3)))


@pytest.mark.parametrize("name", EVALUATED)
@pytest.mark.parametrize("item", REPORT)
def test_an_evaluation_states_what_a_report_on_a_value_is_expected_to(name: str, item: str) -> None:
    assert REPORT[item] in evaluation_of(name)


@pytest.mark.parametrize("name", EVALUATED)
@pytest.mark.parametrize("item", AID)
def test_an_evaluation_states_what_an_aid_to_a_decision_is_expected_to(name: str, item: str) -> None:
    assert AID[item] in evaluation_of(name)


def test_what_a_buyer_has_to_be_told_stands_on_the_evaluation_and_the_quotation() -> None:
    for text in (content_of("1_fine_old_grand"), content_of("1_fine_old_grand", "quotation", "rebuild")):
        assert "The pinblock is new." in as_text(text)

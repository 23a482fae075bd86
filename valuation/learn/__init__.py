"""What the shop's own evaluations and jobs teach: which become jobs, what is coming, what the tables should say.

May import `valuation.engine`, `valuation.facts` and `valuation.jobs`. Pure: knows no screen, storage, file, clock or
global chance; the day and a seed come in as arguments. Must never change a table: it proposes, with its evidence, and
the owner decides. Must never show a figure that the cases can't carry: it says 'too few to tell', and how many more it
takes. Nothing of it enters a client's verdict.
"""

from __future__ import annotations

from valuation.learn.carry import Carry, Group, judge
from valuation.learn.cases import Case
from valuation.learn.chance import ATTRIBUTES, Chance, ChanceModel, Reason, fit_chance
from valuation.learn.coming import Month, coming_work
from valuation.learn.condition_tables import ConditionLearned, learn_condition
from valuation.learn.decisions import Curve, Waits, decided_for, undecided, waits_of
from valuation.learn.delays import Delay, Delays, learn_delays
from valuation.learn.estimates import Accuracy, Comparison, compare_estimates
from valuation.learn.funnel import (
    Conversion,
    Reached,
    by_month,
    by_price,
    by_source,
    by_technician,
    by_verdict,
    conversion,
    funnel,
    thirds,
)
from valuation.learn.hours import FamilyRatio, HoursLearned, family_of, learn_hours
from valuation.learn.proposals import LEARNED, Change, Proposal, propose_condition, propose_hours
from valuation.learn.shares import Share
from valuation.learn.taken_in import before_learning, with_proposals

__all__ = [
    "ATTRIBUTES",
    "LEARNED",
    "Accuracy",
    "Carry",
    "Case",
    "Chance",
    "ChanceModel",
    "Change",
    "Comparison",
    "ConditionLearned",
    "Conversion",
    "Curve",
    "Delay",
    "Delays",
    "FamilyRatio",
    "Group",
    "HoursLearned",
    "Month",
    "Proposal",
    "Reached",
    "Reason",
    "Share",
    "Waits",
    "before_learning",
    "by_month",
    "by_price",
    "by_source",
    "by_technician",
    "by_verdict",
    "coming_work",
    "compare_estimates",
    "conversion",
    "decided_for",
    "family_of",
    "fit_chance",
    "funnel",
    "judge",
    "learn_condition",
    "learn_delays",
    "learn_hours",
    "propose_condition",
    "propose_hours",
    "thirds",
    "undecided",
    "waits_of",
    "with_proposals",
]

"""From evaluation to finished job: what is written down, where each one stands, what is due, and the last check.

May import `valuation.engine` and `valuation.facts`. Pure: knows no screen, storage, file or clock; the day comes in as
an argument. Must never change or drop an event.
"""

from __future__ import annotations

from valuation.jobs.calendar import calendar_of
from valuation.jobs.follow_ups import FollowUp, follow_ups
from valuation.jobs.handover import Checked, Miss, Place, check_handover
from valuation.jobs.records import EstimatedHours, Evaluation, Job, JobEvent, Teardown, WorkDone
from valuation.jobs.stages import Course, courses, standing

__all__ = [
    "Checked",
    "Course",
    "EstimatedHours",
    "Evaluation",
    "FollowUp",
    "Job",
    "JobEvent",
    "Miss",
    "Place",
    "Teardown",
    "WorkDone",
    "calendar_of",
    "check_handover",
    "courses",
    "follow_ups",
    "standing",
]

"""The rows of the tables that a shop owns, one class for each file in `valuation/tables`.

Everything the trade knows stands in those files; the code knows only how to use a row. A field's
`column(...)` says what the cell means and what is allowed in it.
"""

from valuation.core.rows.client import CautionRow, ChoiceRow
from valuation.core.rows.evidence import CheckRow, FamilyRow, StrengthRow
from valuation.core.rows.jobs import FollowUpRow, HandoverRow, ReasonRow, StageRow
from valuation.core.rows.market import BandRow, EraRow, ReplacementRow, SizeRow, TierRow
from valuation.core.rows.piano import (
    AgeRow,
    ComponentRow,
    ExposureRow,
    FeatureRow,
    PartRow,
    PriorRow,
    SourceRow,
    StateRow,
)
from valuation.core.rows.tables import Settings, Tables
from valuation.core.rows.words import (
    CONDITIONS_GIVEN,
    EXPOSURES,
    GRADES,
    HISTORY,
    KIND_CHOICES,
    KINDS,
    LEVELS,
    OUTCOMES,
    PLACES,
    QUESTIONS,
    SECTIONS,
    STATES,
    SUMMARIES,
    TREATMENTS,
    Level,
)
from valuation.core.rows.work import MaterialRow, OperationRow, Quantity, RateRow

__all__ = [
    "CONDITIONS_GIVEN",
    "EXPOSURES",
    "GRADES",
    "HISTORY",
    "KINDS",
    "KIND_CHOICES",
    "LEVELS",
    "OUTCOMES",
    "PLACES",
    "QUESTIONS",
    "SECTIONS",
    "STATES",
    "SUMMARIES",
    "TREATMENTS",
    "AgeRow",
    "BandRow",
    "CautionRow",
    "CheckRow",
    "ChoiceRow",
    "ComponentRow",
    "EraRow",
    "ExposureRow",
    "FamilyRow",
    "FeatureRow",
    "FollowUpRow",
    "HandoverRow",
    "Level",
    "MaterialRow",
    "OperationRow",
    "PartRow",
    "PriorRow",
    "Quantity",
    "RateRow",
    "ReasonRow",
    "ReplacementRow",
    "Settings",
    "SizeRow",
    "SourceRow",
    "StageRow",
    "StateRow",
    "StrengthRow",
    "Tables",
    "TierRow",
]

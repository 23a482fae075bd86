"""The rows of the tables that a shop owns, one class for each file; each column is described beside its field.

Everything the trade knows stands in those files; the code knows only how to use a row.
"""

from valuation.engine.rows.condition import (
    ConflictRow,
    FaultRow,
    HiddenRow,
    OddsRow,
    PartRow,
    StateRow,
    TiltRow,
)
from valuation.engine.rows.evidence import AccessRow, CheckRow, PieceRow, ReadingRow, TakenOverRow
from valuation.engine.rows.jobs import FollowUpRow, HandoverRow, ReasonRow, StageRow
from valuation.engine.rows.market import BandRow, EraRow, ReplacementRow, SizeRow, TierRow
from valuation.engine.rows.piano import ChoiceRow, ComponentRow, FeatureRow, SourceRow
from valuation.engine.rows.tables import Settings, Tables
from valuation.engine.rows.words import (
    ACCESSES,
    CAUSES,
    HISTORY,
    KIND_CHOICES,
    KINDS,
    LEVELS,
    LEVELS_OF_CAUSE,
    OUTCOMES,
    QUESTIONS,
    SECTIONS,
    SEVERITIES,
    STATES,
)
from valuation.engine.rows.work import (
    CautionRow,
    CureRow,
    FeatureHoursRow,
    ForbiddenRow,
    MaterialRow,
    OpeningRow,
    OperationRow,
    Quantity,
    RateRow,
    ScopeRow,
    SystemRow,
)

__all__ = [
    "ACCESSES",
    "CAUSES",
    "HISTORY",
    "KINDS",
    "KIND_CHOICES",
    "LEVELS",
    "LEVELS_OF_CAUSE",
    "OUTCOMES",
    "QUESTIONS",
    "SECTIONS",
    "SEVERITIES",
    "STATES",
    "AccessRow",
    "BandRow",
    "CautionRow",
    "CheckRow",
    "ChoiceRow",
    "ComponentRow",
    "ConflictRow",
    "CureRow",
    "EraRow",
    "FaultRow",
    "FeatureHoursRow",
    "FeatureRow",
    "FollowUpRow",
    "ForbiddenRow",
    "HandoverRow",
    "HiddenRow",
    "MaterialRow",
    "OddsRow",
    "OpeningRow",
    "OperationRow",
    "PartRow",
    "PieceRow",
    "Quantity",
    "RateRow",
    "ReadingRow",
    "ReasonRow",
    "ReplacementRow",
    "ScopeRow",
    "Settings",
    "SizeRow",
    "SourceRow",
    "StageRow",
    "StateRow",
    "SystemRow",
    "Tables",
    "TakenOverRow",
    "TierRow",
    "TiltRow",
]

"""What was entered at a visit, as a history in which nothing is overwritten.

Pure: knows no database, file, clock or chance. Times and ids come in as arguments.
"""

from valuation.record.card import Card, card_text
from valuation.record.entry import REQUIRED, Entry, first_id, is_id, one_line, plain_value, value_text, why_not_entry
from valuation.record.history import (
    by_field,
    by_visit,
    clash,
    counted,
    heads,
    may_undo,
    merge,
    next_to_undo,
    present,
    undone,
    unfit,
    value_without,
)
from valuation.record.paper import Paper, printed_number, why_not_paper

__all__ = [
    "REQUIRED",
    "Card",
    "Entry",
    "Paper",
    "by_field",
    "by_visit",
    "card_text",
    "clash",
    "counted",
    "first_id",
    "heads",
    "is_id",
    "may_undo",
    "merge",
    "next_to_undo",
    "one_line",
    "plain_value",
    "present",
    "printed_number",
    "undone",
    "unfit",
    "value_text",
    "value_without",
    "why_not_entry",
    "why_not_paper",
]

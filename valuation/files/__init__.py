"""Files into checked objects: the shop's tables and a technician's visit file.

May import `valuation.core` and `valuation.errors`. Must never guess: a name that is nearly right is offered, not taken.
Every fault is told, at once, with its file, line, column and what to write instead.
"""

from __future__ import annotations

from valuation.files.visit_file import parse_visit, read_visit
from valuation.files.visit_writer import write_visit
from valuation.rules.load import load_tables

__all__ = ["load_tables", "parse_visit", "read_visit", "write_visit"]

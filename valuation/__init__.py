"""Is an old piano worth it? From what was found on it to a verdict that explains itself.

Nothing is read or opened on import; a name is fetched from its module when it is first asked for, so that a small
script pays only for what it uses.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"
__all__ = ["Appraisal", "NotInForce", "Tables", "UserError", "Visit", "appraise", "load_tables", "read_visit"]

_HOMES = {
    "Appraisal": "valuation.engine.appraisal",
    "NotInForce": "valuation.facts.errors",
    "Tables": "valuation.engine.rows",
    "UserError": "valuation.errors",
    "Visit": "valuation.facts.visit",
    "appraise": "valuation.engine.appraise",
    "load_tables": "valuation.rules",
    "read_visit": "valuation.files.visit_file",
}


def __getattr__(name: str) -> Any:
    """Return a public name from the module in which it is written."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)

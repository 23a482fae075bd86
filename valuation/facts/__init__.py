"""What can be known of a visit, its piano, its client and its job, and what each fact may hold: declared once.

Imports `valuation.core` and `valuation.errors` alone; pure. Visit files, histories, imports, pages and settings all
take types and bounds from here, so that nothing gets to a page that it can't draw.
"""

from valuation.facts.declared import FACTS, SETTINGS, fact_of, setting_fault, why_unfit

__all__ = ["FACTS", "SETTINGS", "fact_of", "setting_fault", "why_unfit"]

"""What can be known of a piano, a visit, a client and a job: the values, their units, and what each field may hold.

What for: the words that every other room speaks; visit files, histories, imports, pages and settings all take types
and bounds from here, so that nothing gets to a page that it can't draw. May import: the standard library and
`valuation.errors`. Never: tables, screens, storage.
"""

from valuation.facts.declared import FACTS, SETTINGS, fact, fact_of, setting_fault, why_unfit

__all__ = ["FACTS", "SETTINGS", "fact", "fact_of", "setting_fault", "why_unfit"]

"""Where visits, their history, photos and settings are kept: SQLite or PostgreSQL, and a folder of photos.

Imports `record` and `errors` only. The one room that knows SQL. Nothing is opened on import; whoever only appraises a
visit file never loads it.
"""

from valuation.store.connect import Store, open_store

__all__ = ["Store", "open_store"]

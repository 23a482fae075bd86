"""The shop's tables, read and checked for the engine."""

from valuation.rules.load import PACKAGED, ROW_CLASSES, load_tables, tables_of

__all__ = ["PACKAGED", "ROW_CLASSES", "load_tables", "tables_of"]

"""The tables of the store as they are today; how they came to be is in `migrations`.

Times are UTC text of fixed width, so that their order as text is their order in time on every database.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, Boolean, Column, ForeignKey, Index, Integer, LargeBinary, MetaData, Table, Text

REVISIONS = ("0001", "0002")
"""Every form the schema has had, oldest first; the last is today's."""

metadata = MetaData()

_plain = Text().with_variant(Text(collation="C"), "postgresql")
"""Text in the order of its letters' codes, whatever the language of the server."""

_counter = BigInteger().with_variant(Integer(), "sqlite")

visit = Table(
    "visit",
    metadata,
    Column("id", Text, primary_key=True),
    Column("demo", Boolean, nullable=False),
    Column("created_at", Text, nullable=False),
    Column("created_by", Text, nullable=False),
    # the card: present values, kept up to date with every entry, for lists
    Column("title", Text, nullable=False),
    Column("day", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("maker", Text, nullable=False),
    Column("serial", Text, nullable=False),
    Column("place", Text, nullable=False),
    Column("client", Text, nullable=False),
    Column("year", Integer),
    Column("stage", Text, nullable=False),
    Column("search", _plain, nullable=False),
    Column("changed_at", Text, nullable=False),
    Index("visit_by_change", "changed_at", "id"),
    Index("visit_by_day", "day", "id"),
)

entry = Table(
    "entry",
    metadata,
    Column("seq", _counter, primary_key=True, autoincrement=True),
    Column("id", Text, nullable=False, unique=True),
    Column("visit", Text, ForeignKey("visit.id"), nullable=False),
    Column("at", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("field", Text, nullable=False),
    Column("value", Text, nullable=False),  # JSON
    Column("follows", Text, nullable=False),  # ids, separated by spaces
    Column("undoes", Text, nullable=False),
    Index("entry_by_field", "visit", "field"),
    sqlite_autoincrement=True,  # a number is never given twice
)

photo = Table(
    "photo",
    metadata,
    Column("hash", Text, primary_key=True),
    Column("size", Integer, nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("added_at", Text, nullable=False),
)

setting = Table(
    "setting",
    metadata,
    Column("name", Text, primary_key=True),
    Column("value", Text, nullable=False),  # JSON
)

tables_version = Table(
    "tables_version",
    metadata,
    Column("hash", Text, primary_key=True),
    Column("kept_at", Text, nullable=False),
    Column("files", LargeBinary, nullable=False),  # as they were: JSON of name to text, by zlib
)

paper = Table(
    "paper",
    metadata,
    Column("id", Text, primary_key=True),
    Column("visit", Text, ForeignKey("visit.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("what", Text, nullable=False),
    Column("option", Text, nullable=False),
    Column("language", Text, nullable=False),
    Column("size", Text, nullable=False),
    Column("units", Text, nullable=False),
    Column("made_at", Text, nullable=False),
    Column("made_by", Text, nullable=False),
    Column("made_with", Text, nullable=False),
    Column("written_on", Text, nullable=False),
    Column("priced_on", Text, nullable=False),
    Column("seed", BigInteger, nullable=False),
    Column("draws", BigInteger, nullable=False),
    Column("tables_hash", Text, ForeignKey("tables_version.hash"), nullable=False),
    Column("sales_hash", Text, nullable=False),
    Column("appraisal_hash", Text, nullable=False),
    Column("photos", Text, nullable=False),  # hashes, separated by spaces
    Column("pdf_hash", Text, nullable=False),
    Column("figures", Text, nullable=False),  # JSON
    Column("given", Text, nullable=False),  # JSON
    Column("visit_text", Text, nullable=False),  # JSON
    Column("pdf", LargeBinary, nullable=False),  # last: the others are read without it
    Index("paper_by_visit", "visit", "number"),
)

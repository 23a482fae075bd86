"""The tables of the store as they are today; how they came to be is in `migrations`.

Times are UTC text of fixed width, so that their order as text is their order in time on every database.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    text,
)

REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007")
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
    Column("title_key", _plain, nullable=False, server_default=""),
    Column("maker_key", _plain, nullable=False, server_default=""),
    Column("place_key", _plain, nullable=False, server_default=""),
    Column("client_key", _plain, nullable=False, server_default=""),
    # of the job: days are numbers (1 is the first day of the year 1), so that any database can reckon with them
    Column("since", Integer),
    Column("next_on", Integer),
    Column("next_what", Text, nullable=False, server_default=""),
    Column("followed", Text, nullable=False, server_default=""),  # ids, each between blanks
    Column("kept_as", Text, nullable=False, server_default=""),  # '', 'restricted' or 'nameless': see `forgetting`
    Index("visit_by_change", "changed_at", "id"),
    Index("visit_by_day", "day", "id"),
    Index("visit_by_title", "title_key", "id"),
    Index("visit_by_maker", "maker_key", "title_key", "id"),
    Index("visit_by_place", "place_key", "title_key", "id"),
    Index("visit_by_client", "client_key", "title_key", "id"),
    Index("visit_by_year", "year", "title_key", "id"),
    Index("visit_by_stage", "stage", "title_key", "id"),
    Index("visit_by_kind", "kind", "title_key", "id"),
    Index("visit_of_kind", "kind", "changed_at", "id"),
    Index("visit_of_demo", "demo", "changed_at", "id"),
    Index("visit_by_since", "stage", "since", "id"),
    Index("visit_hidden", "kept_as", sqlite_where=text("kept_as <> ''"), postgresql_where=text("kept_as <> ''")),
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

job = Table(
    "job",
    metadata,
    Column("visit", Text, ForeignKey("visit.id"), primary_key=True),
    Column("stage", Text, nullable=False),
    Column("stage_since", Text),
    Column("reason", Text),
    Column("source", Text),
    Column("referred", Boolean),
    Column("next_step", Text),
    Column("next_day", Text),
    Column("evaluated_on", Text),
    Column("verdict", Text),
    Column("technician", Text),
    Column("price_low", Float),
    Column("price_likely", Float),
    Column("price_high", Float),
    Column("value_after", Float),
    Column("premium", Float),
    Column("hours_low", Float),
    Column("hours_likely", Float),
    Column("hours_high", Float),
    Column("agreed_on", Text),
    Column("agreed_option", Text),
    Column("agreed_scope", Text),
    Column("price_agreed", Float),
    Column("price_quoted", Float),
    Column("tax", Float),
    Column("promised_on", Text),
    Column("minutes", Float),
    Column("fee", Float),
    Column("hours_priced", Float),
    Column("hours_estimated", Float),
    Column("hours_done", Float),
    Column("parts_opened", Integer, nullable=False),
    Column("events", Text, nullable=False),  # JSON: id, day, stage, reason, who of each, by day
)

ledger = Table(
    "ledger",
    metadata,
    Column("visit", Text, ForeignKey("visit.id"), primary_key=True),
    Column("sheet", Text, primary_key=True),  # what the row is about: see `valuation.record.ledger`
    Column("name", Text, primary_key=True),
    *(Column(name, Text) for name in ("day", "who", "operation", "part", "what", "note")),
    *(Column(name, Float) for name in ("hours", "labour", "materials", "outside", "amount", "chance", "count")),
)
"""The ledgers of all jobs, worked out anew with each entry, for lists and sheets."""

_EVALUATIONS = """
CREATE VIEW evaluations AS
SELECT visit.id AS visit, visit.demo AS invented, visit.title, visit.client, visit.place, visit.kind, visit.maker,
       visit.serial, visit.year, visit.day AS visited_on, job.technician, job.source, job.referred,
       job.evaluated_on, job.verdict, job.price_low, job.price_likely, job.price_high, job.value_after, job.premium,
       job.hours_low, job.hours_likely, job.hours_high, visit.stage, job.stage_since, job.reason,
       job.next_step, job.next_day, job.agreed_on, job.agreed_option, job.agreed_scope, job.price_quoted,
       job.price_agreed, job.tax, job.promised_on, job.hours_priced, job.hours_estimated, job.hours_done,
       job.minutes, job.fee,
       COALESCE(job.parts_opened, 0) AS parts_opened, visit.changed_at
FROM visit LEFT JOIN job ON job.visit = visit.id
WHERE visit.kept_as <> 'restricted'
"""

_OF_THE_LEDGER = {
    "agreed_lines": ("line", "operation, part, day AS agreed_on, hours, labour, materials, outside, amount"),
    "if_found_lines": (
        "if_found", "operation, part, chance, amount AS price, what AS answer, day AS answered_on"
    ),
    "hours_worked": ("hours", "operation, day, who AS person, hours, note"),
    "materials_used": (
        "material", "operation, what AS material, count AS quantity, amount AS cost, day, who AS person"
    ),
    "money_moved": ("money", "what, day, amount, note"),
    "changes": ("change", "what, day, amount AS price, hours"),
    "returned": (
        "return", "day, count AS days_since_delivery, what AS cause, part, hours, amount AS cost, who AS person, note"
    ),
    "teardown": ("teardown", "name AS fault, part, what AS severity"),
}  # fmt: skip

VIEWS = {
    "evaluations": _EVALUATIONS,
    **{
        view: f"CREATE VIEW {view} AS SELECT visit, invented, title, {columns} FROM ledger JOIN "
        f"(SELECT id, demo AS invented, title FROM visit WHERE kept_as <> 'restricted') AS shown "
        f"ON shown.id = ledger.visit WHERE sheet = '{sheet}'"
        for view, (sheet, columns) in _OF_THE_LEDGER.items()
    },
    "papers": "CREATE VIEW papers AS SELECT paper.visit, visit.demo AS invented, visit.title AS title, paper.number, "
    "paper.what, paper.option, paper.language, paper.made_at, paper.made_by, paper.priced_on "
    "FROM paper JOIN visit ON visit.id = paper.visit WHERE visit.kept_as <> 'restricted'",
}
"""For whatever the owner's own tools ask: one row a visit, a line, an entry of hours. Made anew after every step of the
tables."""

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

tables_change = Table(
    "tables_change",
    metadata,
    Column("seq", _counter, primary_key=True, autoincrement=True),
    Column("id", Text, nullable=False, unique=True),
    Column("hash", Text, ForeignKey("tables_version.hash"), nullable=False),
    Column("instead_of", Text, nullable=False),
    Column("from_day", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("state", Text, nullable=False),
    sqlite_autoincrement=True,
)
"""Which of the shop's tables are in force from which day. See `valuation.record.shop_tables`."""

tables_edit = Table(
    "tables_edit",
    metadata,
    Column("seq", _counter, primary_key=True, autoincrement=True),
    Column("id", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),  # of the table
    Column("row", Text, nullable=False),  # JSON: columns and texts that tell it from the others
    Column("before", Text, nullable=False),  # JSON: column to text, or null for a row that was not there
    Column("after", Text, nullable=False),  # JSON: the same, or null for a row that goes
    Column("at", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("done", Text, nullable=False),  # '' as long as it is in the draft; id of the change; 'dropped'
    Index("tables_edit_open", "done", "seq"),
    sqlite_autoincrement=True,
)
"""What was entered into the draft of the shop's tables, by whom."""

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

forgotten = Table(
    "forgotten",
    metadata,
    Column("mark", Text, primary_key=True),  # see `valuation.record.nameless.mark_of`
    Column("how", Text, nullable=False),  # 'erased', 'thrown_away' or 'corrected'
    Column("day", Text, nullable=False),
    Column("until", Text, nullable=False),  # until when tax law kept what was agreed on; empty where nothing was
    Column("law", Text, nullable=False),
)
"""What may not come back, by marks from which nobody comes back to a person."""

kept_by_law = Table(
    "kept_by_law",
    metadata,
    Column("id", Text, primary_key=True),
    Column("mark", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("day", Text, nullable=False),
    Column("until", Text, nullable=False),
    Column("law", Text, nullable=False),
    Column("content", LargeBinary, nullable=False),  # a zip: what was agreed on, and the papers about it
)
"""What tax law demands of the agreed job of a person who was forgotten: apart, dated, and in no list or search."""

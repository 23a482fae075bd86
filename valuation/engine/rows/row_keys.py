"""What tells the rows of a table apart."""

from __future__ import annotations

KEYS: dict[str, tuple[str, ...]] = {
    "hidden": ("cause", "id"),
    "tilts": ("cause", "id"),
    "fault_odds": ("fault", "build", "age"),
    "conflicts": ("fault", "with_fault"),
    "readings": ("id", "given"),
    "pieces": ("check", "given", "middle"),
    "cures": ("operation", "fault"),
    "forbidden": ("operation", "fault", "feature"),
    "feature_hours": ("feature", "applies_to"),
    "taken_over": ("old_check", "old_word"),
    "retentions": ("country", "what"),
    "trade_words": ("country", "language", "word"),
    "figures": ("kind", "of"),
    "settings": ("name",),
}
"""Where it isn't the id; those of `DATED` and `BY_KIND` apart."""

DATED: dict[str, tuple[str, ...]] = {
    "rates": ("id",),
    "materials": ("id",),
    "bands": ("kind", "size", "tier", "era"),
    "replacements": ("kind", "tier"),
    "taxes": ("id",),
}
"""Tables whose rows hold from a day: what tells them apart on one day."""

BY_KIND = ("faults", "checks", "operations", "openings", "handover")
"""Tables in which an id may stand once for uprights and once for grands."""


def key_columns(table: str) -> tuple[str, ...]:
    """Return the columns by which each row of a table is told from all others.

    Examples
    --------
    >>> key_columns("rates"), key_columns("operations"), key_columns("parts")
    (('id', 'valid_from'), ('id', 'kinds'), ('id',))
    """
    if table in DATED:
        return (*DATED[table], "valid_from")
    return ("id", "kinds") if table in BY_KIND else KEYS.get(table, ("id",))

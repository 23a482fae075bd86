"""The file in which a whole shop is exported: a zip of JSON files and photos with their checksums.

::

    manifest.json       {"format": ..., "version": 2, "made_at": ..., "made_by": ..., "visits": n, "entries": n,
                         "photos": n, "lost_photos": [HASH, ...], "papers": n, "tables": n}
    settings.json       {NAME: VALUE, ...}
    visits/ID.json      {"id": ID, "demo": true or false, "created_at": TIME, "created_by": NAME, "entries": [
                          {"id": ID, "at": TIME, "who": NAME, "device": NAME, "field": FIELD, "value": VALUE,
                           "follows": [ID, ...], "undoes": ID or ""}, ...]}
    photos/HASH.jpg     JPEG, named by the SHA-256 of the file
    papers/ID.json      {"id": ID, "visit": ID, "number": n, "what": WORD, "option": WORD or "", "language": WORD,
                         "size": WORD, "units": WORD, "made_at": TIME, "made_by": NAME, "made_with": VERSION,
                         "written_on": DAY, "priced_on": DAY, "seed": n, "draws": n, "tables_hash": HASH,
                         "sales_hash": HASH or "", "appraisal_hash": HASH, "photos": [HASH, ...], "pdf_hash": HASH,
                         "visit_text": {FIELD: VALUE, ...}, "given": {...}, "figures": {...}}
    papers/ID.pdf       the paper as the client got it
    tables/HASH/NAME    the shop's tables as they were when a paper was made with them: CSV files and settings.toml
    README.txt          this, for people
    checksums.sha256    SHA-256 of every other file, as the command sha256sum writes them

Times are UTC, ``2026-05-04T09:00:00.000000Z``; ids 32 hexadecimal digits. Version 1 had no papers and no tables.
"""

from __future__ import annotations

import re

FORMAT = "piano visits of a workshop"
VERSION = 2

MANIFEST, SETTINGS, README, CHECKSUMS = "manifest.json", "settings.json", "README.txt", "checksums.sha256"
VISIT = re.compile(r"visits/([0-9a-f]{32})\.json")
PHOTO = re.compile(r"photos/([0-9a-f]{64})\.jpg")
PAPER = re.compile(r"papers/([0-9a-f]{32})\.json")
PDF = re.compile(r"papers/([0-9a-f]{32})\.pdf")
TABLE = re.compile(r"tables/([0-9a-f]{64})/([a-z][a-z0-9_]{0,60}\.(?:csv|toml))")

HOLDS = {1: (VISIT, PHOTO), 2: (VISIT, PHOTO, PAPER, PDF, TABLE)}
"""By version: what it may hold beside the four files that every export has."""

MOST_JSON = 30_000_000
"""A visit with more is a mistake [bytes]."""

MOST_PHOTO = MOST_PDF = 30_000_000
"""[bytes]"""

MOST_SIGNS = 2_000_000
"""Commas and brackets of one JSON file: unfolded, each takes far more room than it does on the disk."""

MOST_PACKED = 100_000_000_000
"""[bytes]"""

MOST_UNPACKED, MOST_FOLD = 500_000_000, 50
"""Unpacked, a file may have so many bytes, or so many times what it has packed."""

README_TEXT = """\
Visits of a piano workshop, exported.

visits/      one JSON file a visit: its whole history, entry by entry, who entered what and when.
             A field holds the value of its entry that no other follows; null is not known.
             Measures are in the units of the tables of checks (mm, N.m, cents, %), money in the shop's currency.
photos/      the photos of the visits: an entry whose field is photo.HASH or photo.HASH.CHECK speaks of photos/HASH.jpg
papers/      what clients got: the PDF, and beside it a JSON file with all that it was made from.
tables/      the tables of the shop with which papers were made, a folder for each version of them.
settings.json, manifest.json
checksums.sha256   to check that nothing has changed: sha256sum -c checksums.sha256

Text is UTF-8, times are UTC. To take it in again: python -m valuation import FILE.zip
"""

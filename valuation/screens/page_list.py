"""The pages of the tool: their files, their names, and who is shown them."""

from __future__ import annotations

from valuation.language import later

FOLDER = "valuation/screens/pages"
FIRST = f"{FOLDER}/visits.py"
TYPE_IN = f"{FOLDER}/type_in.py"
PIANO, INSPECT, NEXT = f"{FOLDER}/piano.py", f"{FOLDER}/inspect.py", f"{FOLDER}/check_next.py"
VERDICT, CLIENT = f"{FOLDER}/verdict.py", f"{FOLDER}/client.py"
SHOP, PINS, PAPERS = f"{FOLDER}/shop.py", f"{FOLDER}/pins.py", f"{FOLDER}/papers.py"
JOBS, JOB, TODAY = f"{FOLDER}/jobs.py", f"{FOLDER}/job.py", f"{FOLDER}/today.py"
ACCESS = f"{FOLDER}/access.py"
HAPPENED, LEARNING, HISTORY = f"{FOLDER}/happened.py", f"{FOLDER}/learning.py", f"{FOLDER}/history.py"
PEOPLE, TABLES = f"{FOLDER}/people.py", f"{FOLDER}/tables.py"
FIRST_WEEK = f"{FOLDER}/first_week.py"
BOOKS, BENCH, WHAT_IF = f"{FOLDER}/books.py", f"{FOLDER}/bench.py", f"{FOLDER}/what_if.py"
PAST = f"{FOLDER}/past.py"
AT_THE_PIANO = {
    FIRST: later("Visits"),
    PIANO: later("The piano"),
    INSPECT: later("Inspect"),
    PINS: later("Tuning pins"),
    NEXT: later("Check next"),
    VERDICT: later("Verdict"),
    CLIENT: later("With the client"),
    PAPERS: later("Papers"),
}
AT_THE_DESK = {
    TYPE_IN: later("Type in a form"),
    f"{FOLDER}/measure.py": later("Measurements"),
    f"{FOLDER}/condition.py": later("Condition"),
    f"{FOLDER}/work.py": later("Work and price"),
    WHAT_IF: later("What if"),
    f"{FOLDER}/market.py": later("Market"),
    f"{FOLDER}/table_rows.py": later("Table rows"),
    HISTORY: later("History"),
    TODAY: later("Today"),
    JOBS: later("Jobs"),
    JOB: later("This job"),
    BENCH: later("Bench"),
    BOOKS: later("The books"),
    HAPPENED: later("What happened"),
    LEARNING: later("Learning"),
    TABLES: later("Our tables"),
    PAST: later("Bring in the past"),
    FIRST_WEEK: later("The first week"),
    PEOPLE: later("People's data"),
    SHOP: later("The shop"),
    ACCESS: later("Access"),
}
PAGES = AT_THE_PIANO | AT_THE_DESK
"""File of each page and its name, in the order of the way about."""

NEAR = {
    INSPECT: later("At the piano"),
    VERDICT: later("Verdict"),
    CLIENT: later("Client"),
    PAPERS: later("Papers"),
}
"""The pages of a visit that are one tap away on every page, with their short names; all others stand in the menu."""

WITHOUT_A_VISIT = (FIRST, TODAY, JOBS, BENCH, BOOKS, HAPPENED, LEARNING, TABLES, PAST, FIRST_WEEK, PEOPLE, SHOP, ACCESS)
"""Pages that need no visit on the table."""

OWNERS_ONLY = (TODAY, BOOKS, LEARNING, TABLES, PAST, FIRST_WEEK, PEOPLE, SHOP, ACCESS)
"""Pages for owners: what changes the tables, people's data, what concerns the whole shop, and who is let in."""

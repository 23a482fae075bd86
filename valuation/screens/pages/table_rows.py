"""From a figure back to the rows of the shop's tables behind it: file, line, what stands there, and its source."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.report.labels import day_words, finding_words, option_name
from valuation.report.trace import TracedRow, is_sale, rows_behind
from valuation.report.words import reason_sentence
from valuation.screens import frame, marks, page_list
from valuation.screens.safe import md
from valuation.screens.state import Draft

_HERE = f"{page_list.FOLDER}/table_rows.py"
Figures = dict[str, tuple[str, ...]]


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    found = frame.appraised(draft, book)
    st.title(say("Table rows behind a figure"), anchor=False)
    st.markdown(
        say("Every figure goes back to findings and to rows that the shop owns. Choose one and see where it stands.")
    )
    kinds = {
        later("A finding"): _findings(found, draft, book),
        later("The odds of a part"): {say(part.name): part.rows for part in found.parts},
    } | (_of_the_options(found) if found.ready else {})
    kinds = {kind: figures for kind, figures in kinds.items() if figures}
    kind = st.pills(
        say("What sort of figure"), list(kinds), format_func=say, key=draft.key("trace_kind"),
        default=next(iter(kinds)), required=True,
    )  # fmt: skip
    figures = kinds[kind]
    figure = st.selectbox(say("Which one"), list(figures), key=draft.key(f"trace_{kind}"))
    by_name: dict[tuple[str, str], list[TracedRow]] = {}
    for row in rows_behind(figures[figure], book, draft.visit.piano.kind, found.on):
        by_name.setdefault((row.file, row.name), []).append(row)
    for rows in by_name.values():
        if len(rows) == 1:
            _row(rows[0])
        else:
            _rows(rows)
    _whole_tables(figures[figure])
    st.markdown(say("Tables: **{hash}**, prices of {day}.", hash=md(found.tables_hash[:12]), day=day_words(found.on)))
    frame.end(book)


def _of_the_options(found: Appraisal) -> dict[str, Figures]:
    """Return what there is of an evaluated piano only."""
    return {
        later("A line of the quote"): {
            f"{option_name(o.option)}: {say(line.name)}": line.rows for o in found.options for line in o.lines
        },
        later("An allowance"): {
            f"{option_name(a.option)}: {_part(found, a.part)}, {say(a.name)}": a.rows for a in found.allowances
        },
        later("A reason"): {reason_sentence(reason, found): reason.rows for reason in found.reasons},
    }


def _findings(found: Appraisal, draft: Draft, book: Tables) -> Figures:
    checks = book.of_kind("checks", draft.visit.piano.kind)
    return {
        f"{say(f.name)}: {finding_words(f, row, draft.system, draft.tried(row))}": f.rows
        for part in found.parts
        for f in part.findings
        for row in [checks[f.check]]
    }


def _part(found: Appraisal, part: str) -> str:
    return say(next(row.name for row in found.parts if row.part == part))


def _row(row: TracedRow) -> None:
    where = say("{file}, line {line}", file=row.file, line=row.line) if row.line else row.file
    with st.expander(md(f"{where} · {row.name}")):
        cells = [[name, f"{text} {row.units[name]}" if name in row.units else text] for name, text in row.cells.items()]
        st.html(marks.table(say("Row {name}", name=row.name), [say("Column"), say("Content")], cells))
        if row.source:
            st.markdown(say("Source: {source}", source=md(row.source)))


def _rows(rows: list[TracedRow]) -> None:
    """Draw rows of one name, such as a check's strength, as the table that they are."""
    where = say("{file}, lines {first} to {last}", file=rows[0].file, first=rows[0].line, last=rows[-1].line)
    columns = list(dict.fromkeys(name for row in rows for name in row.cells if row.cells[name] != row.name))
    cells = [[str(row.line), *(row.cells.get(name, "") for name in columns)] for row in rows]
    sources = "; ".join(dict.fromkeys(row.source for row in rows if row.source))
    with st.expander(md(f"{where} · {rows[0].name}")):
        st.html(marks.table(say("Rows {name}", name=rows[0].name), [say("Line"), *columns], cells))
        st.markdown(say("Source: {source}", source=md(sources)))


def _whole_tables(references: tuple[str, ...]) -> None:
    whole = [reference for reference in references if ":" not in reference and not is_sale(reference)]
    sales = sum(map(is_sale, references))
    if whole:
        files = md(", ".join(f"{table}.csv" for table in whole))
        st.markdown(say("And all that the plan takes from: {files}.", files=files))
    if sales:
        st.markdown(say("And {count} of the shop's own sales: see the page 'Market'.", count=sales))


if __name__ == "__main__":
    page()

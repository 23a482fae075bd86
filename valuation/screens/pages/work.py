"""Work and price: the plan with its levels, to be pinned; the quote line by line; what is held for surprises."""

from __future__ import annotations

import streamlit as st

from valuation.core.appraisal import Appraisal, Line, OptionResult
from valuation.core.rows import Level, Tables
from valuation.report.format import money, money_range, number, of_100
from valuation.report.labels import in_sentence, option_name, with_capital
from valuation.report.trace import rows_behind
from valuation.report.words import verdict_sentence
from valuation.screens import frame, hand_changes_shown, marks, shop
from valuation.screens.quote import Shown, shown_quote
from valuation.screens.quote_by_component import component_table
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held
from valuation.service import while_it_is_open

_HERE = f"{frame.FOLDER}/work.py"
_FREE = "free"


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    found = frame.appraised(draft, book)
    st.title("Work and price", anchor=False)
    option = _chosen(draft, found)
    st.markdown(
        f"Expected price **{money(option.expected_price, found.currency)}** with tax; "
        f"8 of 10 such jobs end between {money_range(option.price)}. Verdict: {md(verdict_sentence(found))}"
    )
    if option.treatments or draft.pinned:
        _plan(draft, option, found, book)
    quote = shown_quote(option, found, book.settings.round_to / 10)
    _lines(draft, quote, found, book)
    _allowances(quote, found)
    _further(draft, option, found, book)
    _sums(quote, found, book)
    frame.end(book)


def _chosen(draft: Draft, found: Appraisal) -> OptionResult:
    """Let one option be chosen; to begin with the verdict's, or the best that has any work in it."""
    priced = {o.option: o for o in found.options if o.lines or o.treatments}
    worked = [o for o in priced.values() if o.treatments]
    first = (
        found.verdict
        if found.verdict in priced
        else max(worked or priced.values(), key=lambda o: o.expected_net).option
    )
    key = draft.key("work_option")
    if held(key) not in priced:
        fill(key, first)
    chosen = st.pills("Which option", list(priced), format_func=option_name, key=key, required=True)
    return priced[chosen or first]


def _plan(draft: Draft, option: OptionResult, found: Appraisal, book: Tables) -> None:
    st.header("The plan", anchor=False)
    st.markdown("Left free, the tool picks the level of each part. Pin one to see what that does to price and verdict.")
    _effect(draft, option, found, book)
    names = {row.id: row.name for row in book.operations}
    offered = {(row.part, row.level) for row in book.of_kind("operations", draft.visit.piano.kind).values()}
    for part in found.parts:
        if part.part not in option.plan:
            continue
        done = names.get(option.treatments.get(part.part, ""), "")
        told = f"{option.plan[part.part]}{f': {done}' if done else ''}"
        with st.container(key=draft.key(f"plan_{part.part}"), gap=None):
            st.markdown(f"**{md(with_capital(part.name))}** · {md(told)}{hand_changes_shown.mark(draft, part.part)}")
            levels = [level for level in Level if level == Level.KEEP or (part.part, level.word) in offered]
            _pin(draft, part.part, part.name, levels)
            hand_changes_shown.ask_why(draft, part.part, part.name)


def _pin(draft: Draft, part: str, name: str, levels: list[Level]) -> None:
    key = draft.key(f"pin_{part}")
    words = {level.word: level for level in levels}
    pinned = draft.pinned.get(part)
    fill(key, _FREE if pinned is None else pinned.word)

    def take() -> None:
        draft.pin(part, words.get(held(key)))

    st.pills(
        md(f"Pin {name}"), [_FREE, *words], key=key, required=True, on_change=take, label_visibility="collapsed"
    )  # fmt: skip


def _effect(draft: Draft, option: OptionResult, found: Appraisal, book: Tables) -> None:
    """Show the option and the verdict with the pins beside what they are without."""
    if not draft.pinned:
        return
    free = shop.appraisal_of(draft.visit, {}, book, frame.sold(draft, book))
    before = free.option(option.option)
    rows = [
        ["Verdict", verdict_sentence(free), verdict_sentence(found)],
        ["Expected price", money(before.expected_price) if before else "none", money(option.expected_price)],
        ["Net", money(before.expected_net) if before else "none", money(option.expected_net)],
    ]
    gone = {o.option for o in free.options} - {o.option for o in found.options}
    caption = f"{option_name(option.option)}, without and with the pins. Money in {found.currency}."
    st.html(marks.table(caption, ["", "Left to the tool", "With the pins"], rows))
    for name in sorted(gone):
        st.markdown(f"With these pins there is no plan that is a **{in_sentence(option_name(name))}**.")
    st.button("Take all pins out", key="unpin", on_click=lambda: setattr(draft, "pinned", {}))


def _lines(draft: Draft, quote: Shown, found: Appraisal, book: Tables) -> None:
    st.header("The quote, line by line", anchor=False)
    if not quote.lines_of:
        st.markdown("There is no work in this plan.")
        return
    headers = ["Operation", "Hours", "Labour", "Materials", "Bought in", "Amount", "Because of", "Table lines"]
    rows = [
        [
            with_capital(line.name),
            number(round(line.hours, 1)),
            *(f"{a:,.0f}" for a in amounts),
            _because(line, found, book),
            _rows(line.rows, draft, book),
        ]
        for line, amounts in zip(quote.lines_of, quote.amounts, strict=True)
    ]
    hours = number(round(sum(round(line.hours, 1) for line in quote.lines_of), 1))
    columns = list(zip(*quote.amounts, strict=True))
    rows.append(["All lines", hours, *(f"{sum(column):,.0f}" for column in columns), "", ""])
    caption = f"Expected amounts in {found.currency} before tax; shared steps are charged once."
    st.html(marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True))
    st.html(component_table(quote, book, found.currency))


def _because(line: Line, found: Appraisal, book: Tables) -> str:
    """Return what calls for a line: findings, or the operations that bring it along."""
    names = {f.check: in_sentence(f.name) for part in found.parts for f in part.findings}
    operations = {row.id: row.name for row in book.operations}
    seen = [names[check] for check in line.findings if check in names][:2]
    if seen:
        return ", ".join(seen)
    unseen = [part.state for part in found.parts if part.part == line.part and not part.looked_at]
    if unseen:
        return f"nobody looked; likeliest {unseen[0]}"
    brought = [operations[o] for o in line.because]
    return f"goes with {', '.join(brought[:2])}{' and more' if len(brought) > 2 else ''}" if brought else ""


def _rows(references: tuple[str, ...], draft: Draft, book: Tables) -> str:
    lines: dict[str, list[str]] = {}
    for row in rows_behind(references, book, draft.visit.piano.kind, draft.visit.on):
        lines.setdefault(row.file, []).append(str(row.line))
    return "; ".join(f"{file} {', '.join(of_file)}" for file, of_file in lines.items())


def _allowances(quote: Shown, found: Appraisal) -> None:
    st.header("Held for what teardown may show", anchor=False)
    parts = {part.part: part.name for part in found.parts}
    rows = [
        [with_capital(parts[a.part]), of_100(a.chance), a.name, money(a.if_needed), f"{held_:,.0f}"]
        for a, held_ in zip(quote.held_for, quote.held, strict=True)
        if held_
    ]
    if not rows:
        st.markdown("Nothing: no part of this plan is likely to turn out worse than planned.")
        return
    rows.append(["All allowances", "", "", "", f"{quote.allowances:,.0f}"])
    headers = ["Part", "Worse than it looks", "Then needed", "Would add, with tax", "Held, before tax"]
    caption = f"Money in {found.currency}. What is held is the chance times what it would add."
    st.html(marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True))


def _further(draft: Draft, option: OptionResult, found: Appraisal, book: Tables) -> None:
    """Show what more would add now that the shared steps are paid for."""
    if not option.treatments:
        return
    study = frame.studied(draft, book)
    more = while_it_is_open(study, study.decide(), option.option)
    if not more:
        return
    st.header("While it is open: what more would add", anchor=False)
    parts = {part.part: part.name for part in found.parts}
    rows = [
        [f"{with_capital(parts[m.part])}: {m.name}", money(m.adds), money(m.alone), money(m.net)] for m in more[:12]
    ]
    headers = ["Treatment", "Adds to the price", "Alone, another day", "Net"]
    caption = f"{found.currency}, expected, with tax. Net: what it does to the client's worth over the years."
    st.html(marks.table(caption, headers, rows, dense=True))


def _sums(quote: Shown, found: Appraisal, book: Tables) -> None:
    st.header("What it adds up to", anchor=False)
    rows = [
        ["Lines", f"{quote.lines:,.0f}"],
        ["Allowances", f"{quote.allowances:,.0f}"],
        ["Before tax", f"{quote.before_tax:,.0f}"],
        [f"Tax, {book.settings.tax:.0%}", f"{quote.tax:,.0f}"],
        ["Expected price", f"{quote.total:,.0f}"],
    ]
    caption = f"{found.currency}. Each figure is rounded first, so these add up to the last digit."
    st.html(marks.table(caption, ["", "Amount"], rows, strong=[4]))


if __name__ == "__main__":
    page()

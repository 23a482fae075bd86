"""Work and price: the plan with its levels, to be pinned; the quote line by line; what is held for surprises."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal, Line, OptionResult
from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.report.format import exact, money, money_range, number, of_100, percent
from valuation.report.labels import in_sentence, option_name, with_capital
from valuation.report.shown_quote import Shown, shown_quote
from valuation.report.trace import rows_behind
from valuation.report.words import verdict_sentence
from valuation.screens import frame, hand_changes_shown, marks, shop
from valuation.screens.quote_by_component import component_table
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held
from valuation.service.visits import offered_levels

_HERE = f"{frame.FOLDER}/work.py"
_FREE = later("free")


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    found = frame.appraised(draft, book)
    st.title(say("Work and price"), anchor=False)
    option = _chosen(draft, found)
    st.markdown(
        say(
            "Expected price **{price}** with tax; 8 of 10 such jobs end between {band}. Verdict: {verdict}",
            price=money(option.expected_price, found.currency), band=money_range(option.price),
            verdict=md(verdict_sentence(found)),
        )
    )  # fmt: skip
    if option.treatments or draft.pinned:
        _plan(draft, option, found, book)
    quote = shown_quote(option, found, book.settings.round_to / 10)
    _lines(draft, quote, found, book)
    _allowances(quote, found)
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
    chosen = st.pills(say("Which option"), list(priced), format_func=option_name, key=key, required=True)
    return priced[chosen or first]


def _plan(draft: Draft, option: OptionResult, found: Appraisal, book: Tables) -> None:
    st.header(say("The plan"), anchor=False)
    st.markdown(
        say("Left free, the tool picks the level of each part. Pin one to see what that does to price and verdict.")
    )
    with st.container():  # always there: what comes and goes above a widget would take a tap on it back
        _effect(draft, option, found, book)
    names = {row.id: say(row.name) for row in book.operations}
    offered = offered_levels(draft.visit, book)
    for part in found.parts:
        if part.part not in option.plan:
            continue
        done = names.get(option.treatments.get(part.part, ""), "")
        level = say(option.plan[part.part])
        told = f"{level}: {done}" if done else level
        with st.container(key=draft.key(f"plan_{part.part}"), gap=None):
            line = f"**{md(with_capital(say(part.name)))}** · {md(told)}"
            st.markdown(f"{line}{hand_changes_shown.mark(draft, part.part)}")
            _pin(draft, part.part, say(part.name), offered.get(part.part, ()))
            hand_changes_shown.ask_why(draft, part.part, say(part.name))


def _pin(draft: Draft, part: str, name: str, levels: tuple[str, ...]) -> None:
    key = draft.field_key(f"pin_{part}", f"pin.{part}")
    pinned = draft.pinned.get(part)
    shown = pinned if pinned in levels else _FREE
    draft.catching.follow(key, shown, _take_pin, draft, part, key)
    st.pills(
        md(say("Pin {part}", part=name)), [_FREE, *levels], format_func=say, key=key, required=True,
        label_visibility="collapsed",
    )  # fmt: skip


def _take_pin(draft: Draft, part: str, key: str) -> None:
    level = held(key)
    draft.pin(part, None if level == _FREE else level)


def _effect(draft: Draft, option: OptionResult, found: Appraisal, book: Tables) -> None:
    """Show the option and the verdict with the pins beside what they are without."""
    if not draft.pinned:
        return
    free = shop.appraisal_of(draft.visit, {}, book, frame.sold(draft, book))
    before = free.option(option.option)
    rows = [
        [say("Verdict"), verdict_sentence(free), verdict_sentence(found)],
        [
            say("Expected price"),
            money(before.expected_price) if before else say("none"),
            money(option.expected_price),
        ],
        [say("Net"), money(before.expected_net) if before else say("none"), money(option.expected_net)],
    ]
    gone = {o.option for o in free.options} - {o.option for o in found.options}
    caption = say(
        "{option}, without and with the pins. Money in {currency}.",
        option=option_name(option.option), currency=found.currency,
    )  # fmt: skip
    st.html(marks.table(caption, ["", say("Left to the tool"), say("With the pins")], rows))
    for name in sorted(gone):
        option = in_sentence(option_name(name))
        st.markdown(say("With these pins there is no plan that is a **{option}**.", option=option))
    st.button(say("Take all pins out"), key="unpin", on_click=draft.press, args=(draft.unpin,))


def _lines(draft: Draft, quote: Shown, found: Appraisal, book: Tables) -> None:
    st.header(say("The quote, line by line"), anchor=False)
    if not quote.lines_of:
        st.markdown(say("There is no work in this plan."))
        return
    headers = [
        say("Operation"),
        say("Hours"),
        say("Labour"),
        say("Materials"),
        say("Bought in"),
        say("Amount"),
        say("Because of"),
        say("Table lines"),
    ]
    rows = [
        [
            with_capital(say(line.name)),
            number(round(line.hours, 1)),
            *map(exact, amounts),
            _because(line, found, book),
            _rows(line.rows, draft, book),
        ]
        for line, amounts in zip(quote.lines_of, quote.amounts, strict=True)
    ]
    hours = number(round(sum(round(line.hours, 1) for line in quote.lines_of), 1))
    columns = list(zip(*quote.amounts, strict=True))
    rows.append([say("All lines"), hours, *(exact(sum(column)) for column in columns), "", ""])
    caption = say("Expected amounts in {currency} before tax; shared steps are charged once.", currency=found.currency)
    st.html(marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True))
    st.html(component_table(quote, book, found.currency))


def _because(line: Line, found: Appraisal, book: Tables) -> str:
    """Return what calls for a line: findings, or the operations that bring it along."""
    names = {f.check: in_sentence(say(f.name)) for part in found.parts for f in part.findings}
    operations = {row.id: say(row.name) for row in book.operations}
    seen = [names[check] for check in line.findings if check in names][:2]
    if seen:
        return ", ".join(seen)
    unseen = [part.state for part in found.parts if part.part == line.part and not part.looked_at]
    if unseen:
        return say("nobody looked; likeliest {state}", state=say(unseen[0]))
    brought = [operations[o] for o in line.because]
    if not brought:
        return ""
    if len(brought) > 2:
        return say("goes with {operations} and more", operations=", ".join(brought[:2]))
    return say("goes with {operations}", operations=", ".join(brought))


def _rows(references: tuple[str, ...], draft: Draft, book: Tables) -> str:
    lines: dict[str, list[str]] = {}
    for row in rows_behind(references, book, draft.visit.piano.kind, draft.visit.on):
        lines.setdefault(row.file, []).append(str(row.line))
    return "; ".join(f"{file} {', '.join(of_file)}" for file, of_file in lines.items())


def _allowances(quote: Shown, found: Appraisal) -> None:
    st.header(say("Held for what teardown may show"), anchor=False)
    parts = {part.part: say(part.name) for part in found.parts}
    rows = [
        [with_capital(parts[a.part]), of_100(a.chance), say(a.name), money(a.if_needed), exact(held_)]
        for a, held_ in zip(quote.held_for, quote.held, strict=True)
        if held_
    ]
    if not rows:
        st.markdown(say("Nothing: no part of this plan is likely to turn out worse than planned."))
        return
    rows.append([say("All allowances"), "", "", "", exact(quote.allowances)])
    headers = [
        say("Part"),
        say("Worse than it looks"),
        say("Then needed"),
        say("Would add, with tax"),
        say("Held, before tax"),
    ]
    caption = say("Money in {currency}. What is held is the chance times what it would add.", currency=found.currency)
    st.html(marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True))


def _sums(quote: Shown, found: Appraisal, book: Tables) -> None:
    st.header(say("What it adds up to"), anchor=False)
    rows = [
        [say("Lines"), exact(quote.lines)],
        [say("Allowances"), exact(quote.allowances)],
        [say("Before tax"), exact(quote.before_tax)],
        [say("Tax, {share}", share=percent(book.settings.tax)), exact(quote.tax)],
        [say("Expected price"), exact(quote.total)],
    ]
    caption = say(
        "{currency}. Each figure is rounded first, so these add up to the last digit.", currency=found.currency
    )
    st.html(marks.table(caption, ["", say("Amount")], rows, strong=[4]))


if __name__ == "__main__":
    page()

"""Work and price: the plan with its levels, to be set by hand; the fixed lines; what is done only if it is found."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.money import tax_of
from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.report.fault_words import line_answers, seen_when_words, seen_words
from valuation.report.format import cents, exact, money, money_range, number, of_100
from valuation.report.labels import in_sentence, option_name, with_capital
from valuation.report.quote import Quote, quote_of
from valuation.report.tax_words import tax_label, with_tax
from valuation.report.trace import rows_behind
from valuation.report.words import verdict_sentence
from valuation.screens import frame, hand_changes_shown, kit, marks, page_list, shop
from valuation.screens.not_yet import evaluated
from valuation.screens.quote_by_component import component_table, sum_of
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held
from valuation.service.visits import offered_levels

_HERE = f"{page_list.FOLDER}/work.py"
_FREE = later("free")


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    st.title(say("Work and price"), anchor=False)
    found = evaluated(draft, book)
    option = _chosen(draft, found)
    quote = quote_of(option, tax_of(book, found.on))
    st.markdown(
        say(
            "Fixed price **{price}**; what is found may bring it to {most}. 8 of 10 such jobs end between {band}. "
            "Verdict: {verdict}",
            price=with_tax(f"{cents(quote.total)} {found.currency}", quote.taxed), most=cents(quote.most),
            band=money_range(option.price), verdict=md(verdict_sentence(found)),
        )
    )  # fmt: skip
    parts = {"plan": say("The plan"), "lines": say("Line by line"), "found": say("Done only if it is found")}
    part = kit.view(draft.key("work_part"), say("Show"), parts, "plan")
    if part == "lines":
        _lines(draft, quote, found, book)
        _sums(quote, found)
    elif part == "found":
        _if_found(draft, quote, found, book)
    else:
        _plan(draft, option, found, book)
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
            _level(draft, part.part, say(part.name), offered.get(part.part, ()))
            hand_changes_shown.ask_why(draft, part.part, say(part.name))


def _level(draft: Draft, part: str, name: str, levels: tuple[str, ...]) -> None:
    key = draft.field_key(f"pin_{part}", f"pin.{part}")
    set_levels = draft.set_levels.get(part)
    shown = set_levels if set_levels in levels else _FREE
    draft.catching.follow(key, shown, _take_level, draft, part, key)
    st.pills(
        md(say("Set {part} by hand", part=name)), [_FREE, *levels], format_func=say, key=key, required=True,
        label_visibility="collapsed",
    )  # fmt: skip


def _take_level(draft: Draft, part: str, key: str) -> None:
    level = held(key)
    draft.set_level(part, None if level == _FREE else level)


def _effect(draft: Draft, option: OptionResult, found: Appraisal, book: Tables) -> None:
    """Show the option and the verdict with what is set by hand beside what they are without."""
    if not draft.set_levels:
        return
    free = shop.appraisal_of(draft.visit, {}, book, frame.sold(draft, book))
    before = free.option(option.option)
    rows = [
        [say("Verdict"), verdict_sentence(free), verdict_sentence(found)],
        [
            say("Fixed price"),
            money(before.fixed_price) if before else say("none"),
            money(option.fixed_price),
        ],
        [say("Net"), money(before.expected_net) if before else say("none"), money(option.expected_net)],
    ]
    gone = {o.option for o in free.options} - {o.option for o in found.options}
    caption = say(
        "{option}, without and with what is set by hand. Money in {currency}.",
        option=option_name(option.option), currency=found.currency,
    )  # fmt: skip
    st.html(marks.table(caption, ["", say("Left to the tool"), say("With what is set by hand")], rows))
    for name in sorted(gone):
        said = say(
            "With what is set by hand there is no plan that is a **{option}**.", option=in_sentence(option_name(name))
        )
        st.markdown(said)
    st.button(say("Leave all to the tool again"), key="clear_levels", on_click=draft.press, args=(draft.clear_levels,))


def _lines(draft: Draft, quote: Quote, found: Appraisal, book: Tables) -> None:
    if not quote.lines:
        st.markdown(say("There is no work in this plan."))
        return
    headers = [
        say("Operation"),
        say("Hours"),
        say("Labour"),
        say("Materials"),
        say("Bought in"),
        say("Amount"),
        say("Answers"),
        say("Table lines"),
    ]
    rows = [
        [
            with_capital(say(fixed.line.name)),
            number(round(fixed.line.hours, 1)),
            *map(exact, (fixed.labour, fixed.materials, fixed.outside, fixed.amount)),
            line_answers(fixed.line, found, book, draft.visit.piano.kind),
            _rows(fixed.line.rows, draft, book),
        ]
        for fixed in quote.lines
    ]
    whole = sum_of(say("All lines"), quote.lines)
    sums = map(exact, (whole.labour, whole.materials, whole.outside, whole.amount))
    rows.append([whole.name, number(round(whole.hours, 1)), *sums, "", ""])
    caption = say("Amounts in {currency} before tax; shared steps are charged once.", currency=found.currency)
    st.html(marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True))
    st.html(component_table(quote, book, found.currency))


def _rows(references: tuple[str, ...], draft: Draft, book: Tables) -> str:
    lines: dict[str, list[str]] = {}
    for row in rows_behind(references, book, draft.visit.piano.kind, draft.visit.on):
        lines.setdefault(row.file, []).append(str(row.line))
    return "; ".join(f"{file} {', '.join(of_file)}" for file, of_file in lines.items())


def _if_found(draft: Draft, quote: Quote, found: Appraisal, book: Tables) -> None:
    if not quote.if_found:
        st.markdown(say("Nothing: what this plan treats is known well enough."))
        return
    parts = {part.part: say(part.name) for part in found.parts}
    rows = [
        [
            with_capital(parts[a.part]), seen_words(a, book, draft.visit.piano.kind),
            with_capital(seen_when_words(a, book)), with_capital(say(a.name)), of_100(a.chance), cents(line.price),
            _rows(a.rows, draft, book),
        ]
        for line in quote.if_found
        for a in (line.allowance,)
    ]  # fmt: skip
    rows.append([say("All of it, at the most"), "", "", "", "", cents(quote.most - quote.total), ""])
    headers = [
        say("Part"), say("What would be seen"), say("When"), say("Then done"), say("Found in, of 100"), say("Price"),
        say("Table lines"),
    ]  # fmt: skip
    caption = say(
        "Money in {currency}, with tax. Of the larger works on one part only one is ever done.", currency=found.currency
    )
    st.html(marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True))


def _sums(quote: Quote, found: Appraisal) -> None:
    st.header(say("What it adds up to"), anchor=False)
    rows = [
        [say("Fixed lines, before tax"), cents(quote.before_tax)],
        [tax_label(quote.taxed), cents(quote.tax)],
        [say("Fixed price"), cents(quote.total)],
        [say("The most, with all that may be found"), cents(quote.most)],
    ]
    caption = say(
        "{currency}. Each figure is rounded first, so these add up to the last digit.", currency=found.currency
    )
    st.html(marks.table(caption, ["", say("Amount")], rows, strong=[2]))


if __name__ == "__main__":
    page()

"""What a verdict shows before anything is opened: the drawing, the ways side by side, what must not be done."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

import streamlit as st

from valuation.drawing import draw
from valuation.drawing.draw import in_words
from valuation.engine.appraisal import Appraisal
from valuation.engine.money import tax_of
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.at_a_glance import Way, part_names, part_states, scales, ways, worst_seen
from valuation.report.fault_words import stop_sentences, why_sentence
from valuation.report.format import exact, money, years_range
from valuation.report.labels import with_capital
from valuation.report.tax_words import with_tax
from valuation.screens.looks import is_dark
from valuation.screens.safe import md


def stops(found: Appraisal) -> None:
    """Draw what must not be done today, and every stop rule that no act is told of."""
    told = set().union(*found.stops.values()) if found.stops else set()
    said = [*stop_sentences(found)]
    said += [say(c.text) for c in found.cautions if c.rank == "stop" and c.fault not in told]
    if said:
        with st.container(key="stop_today", gap="xsmall"):
            for sentence in said:
                st.markdown(say("**STOP.** {caution}", caution=md(sentence)))


def drawing(found: Appraisal, kind: str, book: Tables) -> None:
    """Draw the piano with the state of its parts; the worst of them numbered, and told below by their numbers."""
    worst = worst_seen(found, kind)
    numbers = {part.part: [number] for number, part in enumerate(worst, start=1)}
    states, names = part_states(found, book, kind), part_names(book, kind)
    with st.container(key="drawing", gap="small"):
        picture = draw(kind, states, numbers=numbers, names=names, dark=is_dark(), legend=False)
        st.image(picture, alt=in_words(kind, states, names), width="stretch")
        lines = [
            f"{number}. **{md(with_capital(say(part.name)))}**: {md(why_sentence(part))}"
            for number, part in enumerate(worst, start=1)
        ]
        if lines:
            st.markdown("\n".join(lines))


def side_by_side(found: Appraisal, book: Tables) -> None:
    """Draw the ways side by side: what each costs, what the piano is worth then, and for how many good years."""
    tax = tax_of(book, found.on)
    rows = ways(found, tax)
    full = scales(rows)
    heads = (say("Way"), say("Fixed price"), say("Worth then"), say("Good years"))
    caption = say("{currency}. Hatched: what may be found on top.", currency=with_tax(found.currency, tax))
    head = "".join(f'<th role="columnheader" scope="col">{escape(text)}</th>' for text in heads)
    body = "".join(_way(row, heads, full) for row in rows)
    st.html(
        f'<table class="ways" role="table"><caption>{escape(caption)}</caption>'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead><tbody role="rowgroup">{body}</tbody></table>'
    )


def _way(row: Way, heads: tuple[str, ...], full: Mapping[str, float]) -> str:
    verdict = f' <span class="verdict">{escape(say("the verdict"))}</span>' if row.chosen else ""
    name = f'<th role="rowheader" scope="row">{escape(row.name)}{verdict}</th>'
    most = escape(say("up to {amount}", amount=exact(row.most))) if row.most > row.fixed + 1 else ""
    price = exact(row.fixed) if row.fixed >= 0 else say("brings {amount}", amount=money(-row.fixed))
    played = row.years.high >= 1
    cells = (
        (escape(price), most, _bar(0, row.fixed, full["money"]) + _may(row, full["money"])),
        (money(row.worth) if row.worth >= 1 else escape(say("nothing left")), "", _bar(0, row.worth, full["money"])),
        (
            escape(years_range(row.years) if played else say("none")), "",
            _bar(row.years.low, row.years.high, full["years"], "span") if played else "",
        ),
    )  # fmt: skip
    told = "".join(
        f'<td role="cell"><span class="label" aria-hidden="true">{escape(head)}</span><span class="figure">{figure}'
        f'</span><span class="bar" aria-hidden="true">{bars}</span><span class="more">{more}</span></td>'
        for head, (figure, more, bars) in zip(heads[1:], cells, strict=True)
    )
    return f'<tr role="row" class="{"chosen" if row.chosen else ""}">{name}{told}</tr>'


def _may(row: Way, full: float) -> str:
    return _bar(row.fixed, row.most, full, "may") if row.most > row.fixed + 1 else ""


def _bar(low: float, high: float, full: float, kind: str = "") -> str:
    low, high = max(low, 0.0), max(high, 0.0)
    return f'<i class="{kind}" style="left:{100 * low / full:.1f}%;width:{100 * (high - low) / full:.1f}%"></i>'

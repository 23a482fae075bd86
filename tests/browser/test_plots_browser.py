"""Plots in Chromium: no words in them lie on each other or are cut, and each is told in sentences."""

from __future__ import annotations

import pytest
from widths import every_width

pytestmark = pytest.mark.browser

_FAULTS = """plot => {
    const edge = plot.getBoundingClientRect();
    const words = [...plot.querySelectorAll('text')].filter(text => text.textContent.trim())
        .map(text => [text.textContent, text.getBoundingClientRect()]).filter(([, box]) => box.width > 0);
    const faults = words.filter(([, box]) => box.left < edge.left - 1 || box.right > edge.right + 1)
        .map(([text]) => `${text} is cut`);
    words.forEach(([text, box], i) => words.slice(i + 1).forEach(([other, next]) => {
        if (box.left < next.right - 1 && next.left < box.right - 1 && box.top < next.bottom - 3 &&
            next.top < box.bottom - 3) faults.push(`${text} lies on ${other}`);
    }));
    return faults;
}"""


def look_at_plots(visitor, name: str) -> int:
    """Hold every plot on the page to it; return how many there are."""
    plots = visitor.page.locator("[data-testid=stPlotlyChart]")
    plots.first.wait_for()
    visitor.settle()
    for i in range(plots.count()):
        plots.nth(i).scroll_into_view_if_needed()
        plots.nth(i).locator("text").first.wait_for()
        assert plots.nth(i).evaluate(_FAULTS) == [], name
    for told in visitor.page.locator("[data-testid=stPlotlyChart]").evaluate_all(
        "plots => plots.map(plot => plot.closest('[aria-label]') || plot.querySelector('[aria-label]'))"
        ".map(told => told ? told.ariaLabel : '')"
    ):
        assert told.strip().endswith("."), (name, told)
    return plots.count()


@pytest.mark.parametrize("number", [1, 2, 6])
@every_width
def test_no_words_in_a_plot_of_the_verdict_lie_on_each_other(visitor, number):
    visitor.open(number)
    for part, least in (("What would change it", 1), ("Figures", 3)):
        visitor.page.get_by_role("radio", name=part).click()
        visitor.settle()
        assert look_at_plots(visitor, part) >= least
    visitor.go("what_if", "What if")
    visitor.page.get_by_text("The ways, before and now").click()
    visitor.settle()
    assert look_at_plots(visitor, "what if") == 1


@every_width
def test_no_words_in_a_plot_of_what_happened_lie_on_each_other(visitor):
    visitor.open(1)
    visitor.go("happened", "What happened")
    for part in ("How long it takes", "What is coming"):
        visitor.page.get_by_role("radio", name=part).click()
        visitor.settle()
        assert look_at_plots(visitor, part) == 1

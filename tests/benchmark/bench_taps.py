"""From a tap at the inspection to the page settled, beside a bare Streamlit page with the same number of widgets.

    python -m tests.benchmark.bench_taps [--taps 60] [--station "Quick look"] [--width 820]

Both are served on this machine and looked at in one headless Chromium. The bare page is written anew from the real
one: as many buttons, choices with as many options, text fields, expanders, switches and popovers, in the same order,
and with nothing else but a line that counts its runs, as the real page has one that says what was saved. Taps alternate
between the two, each on an option that is not chosen; on the bare page nothing comes of it, on the real one each stores
a finding, works it out and draws what it comes to. Settled is the last change of the page before half a second without
any, with the script at rest. Prints a Markdown table with the ratios of one run.
"""

from __future__ import annotations

import argparse
import json
import re
import statistics
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import Browser, Page

from tests.served import Served, entrance, launched, settle

_WIDGETS = """() => [...document.querySelectorAll(
    '[data-testid=stMain] :is([data-testid=stButton], [data-testid=stButtonGroup], [data-testid=stTextInput], '
    + '[data-testid=stExpander], [data-testid=stCheckbox], [data-testid=stPopover], [data-testid=stDownloadButton])'
)].map(e => [e.dataset.testid, [...e.querySelectorAll('[role=radio]')].map(b => b.innerText)])"""

_TIME_A_TAP = """(choice) => new Promise(done => {
    const app = document.querySelector('[data-testid=stApp]');
    const radios = document.querySelectorAll(choice)[0].querySelectorAll('[role=radio]');
    const option = [...radios].slice(1).findIndex(radio => radio.getAttribute('aria-checked') !== 'true') + 1;
    let last = 0, seen = 0;
    const begun = performance.now();
    const watch = new MutationObserver(() => { last = performance.now(); seen += 1; });
    watch.observe(app, {subtree: true, childList: true, attributes: true, characterData: true});
    radios[option].click();
    const timer = setInterval(() => {
        const still = performance.now() - Math.max(last, begun) > 500;
        if (still && app.dataset.testScriptState === 'notRunning') {
            clearInterval(timer); watch.disconnect(); done([last - begun, seen]);
        }
    }, 20);
})"""


def bare_script(widgets: list[tuple[str, list[str]]]) -> str:
    """Return a script that draws as many widgets of the same sorts, and counts its runs."""
    drawn = {
        "stButton": "st.button('Button {n}', key='w{n}')",
        "stTextInput": "st.text_input('Field {n}', key='w{n}')",
        "stExpander": "st.expander('More {n}', key='w{n}', on_change='rerun')",
        "stCheckbox": "st.toggle('Switch {n}', key='w{n}')",
        "stPopover": "st.popover('More {n}', key='w{n}')",
        "stDownloadButton": "st.download_button('File {n}', b'', key='w{n}', on_click='ignore')",
    }
    lines = [
        "import streamlit as st",
        "st.set_page_config(layout='wide')",
        "st.session_state.runs = st.session_state.get('runs', 0) + 1",
        "st.text(f'Run {st.session_state.runs}')",
    ]
    for number, (sort, options) in enumerate(widgets):
        if sort == "stButtonGroup":
            words = json.dumps(options)
            lines.append(f"st.pills('Choice {number}', {words}, key='w{number}', required=True, default={words}[0])")
        else:
            lines.append(drawn[sort].format(n=number))
    return "\n".join(lines) + "\n"


def measure(browser: Browser, taps: int, station: str, width: int) -> dict[str, list[float]]:
    """Return the times of both pages [ms], taken in turn."""
    with TemporaryDirectory(prefix="taps-") as folder:
        bare = Path(folder) / "bare.py"
        with Served({"VALUATION_DATA": folder, "DATABASE_URL": ""}) as real:
            page = _new_page(browser, width)
            page.goto(entrance(real.address))
            settle(page)
            card = page.locator("[class*='st-key-card_']").filter(has_text="parlour")
            card.get_by_role("button", name="Inspect").click()
            page.get_by_role("heading", level=1, name="Inspect").wait_for()
            settle(page)
            walk = page.get_by_role("radiogroup", name="Where you are on the walk")
            walk.get_by_role("radio", name=re.compile(f"^{re.escape(station)}")).click()
            settle(page)
            widgets = page.evaluate(_WIDGETS)
            bare.write_text(bare_script(widgets), encoding="utf-8")
            with Served({}, script=str(bare), options=("--server.address=127.0.0.1",)) as plain:
                beside = _new_page(browser, width)
                beside.goto(plain.address)
                beside.wait_for_selector(f".st-key-w{len(widgets) - 1}")
                settle(beside)
                same = beside.evaluate(_WIDGETS)
                if sorted(sort for sort, _ in same) != sorted(sort for sort, _ in widgets):
                    raise RuntimeError("the bare page has not the same widgets")
                return _in_turn(page, beside, taps)


def _in_turn(page: Page, beside: Page, taps: int) -> dict[str, list[float]]:
    real = page.evaluate("""() => [...document.querySelectorAll("[class*='st-key-answer_']")]
        .filter(e => e.querySelectorAll('[role=radio]').length > 1)
        .map(e => '.' + [...e.classList].find(c => c.startsWith('st-key-answer_')))""")
    plain = beside.evaluate("""() => [...document.querySelectorAll("[class*='st-key-w']")]
        .filter(e => e.querySelectorAll('[role=radio]').length > 1)
        .map(e => '.' + [...e.classList].find(c => c.startsWith('st-key-w')))""")
    times = {"real": [], "bare": []}
    for number in range(taps + 6):
        for name, one, choices in (("real", page, real), ("bare", beside, plain)):
            one.bring_to_front()
            took, changes = one.evaluate(_TIME_A_TAP, choices[number % len(choices)])
            if not changes:
                raise RuntimeError("a tap changed nothing")
            if number >= 6:  # the first ones warm up
                times[name].append(took)
    return times


def _new_page(browser: Browser, width: int) -> Page:
    page = browser.new_context(viewport={"width": width, "height": 1100}).new_page()
    page.set_default_timeout(60_000)
    return page


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--taps", type=int, default=60)
    parser.add_argument("--station", nargs="+", default=["Quick look", "Playing it"])
    parser.add_argument("--width", type=int, default=820)
    given = parser.parse_args()
    print("| station | median, to bare | p95, to bare | median, ms | bare | p95, ms | bare |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    with launched() as browser:
        for station in given.station:
            times = measure(browser, given.taps, station, given.width)
            median = {name: statistics.median(took) for name, took in times.items()}
            high = {name: statistics.quantiles(took, n=20)[-1] for name, took in times.items()}
            figures = [f"{median['real'] / median['bare']:.2f}", f"{high['real'] / high['bare']:.2f}"]
            figures += [f"{figure:.0f}" for of in (median, high) for figure in (of["real"], of["bare"])]
            print(f"| {station} | {' | '.join(figures)} |", flush=True)


if __name__ == "__main__":
    main()

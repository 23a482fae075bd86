"""What moved between two appraisals of one piano: the verdict, and the figures of each option. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from valuation.engine.appraisal import Appraisal
from valuation.facts.visit import Range
from valuation.language import say
from valuation.report.contract import to_plain
from valuation.report.format import exact, honest, money, money_range, of_100, percent, years_range
from valuation.report.labels import option_name

_KEPT = ("ready", "verdict", "clarity", "next_option", "beats_next", "gap", "expected_loss", "score", "currency", "on")
_KEPT_OF_OPTION = ("price", "fixed_price", "expected_price", "value_after", "years", "expected_net", "chance_best")


def figures_of(appraisal: Appraisal) -> dict[str, Any]:
    """Return the few figures of an appraisal by which a later one is compared with it, as JSON values."""
    plain = to_plain(appraisal)
    options = {name: {key: option[key] for key in _KEPT_OF_OPTION} for name, option in plain["options"].items()}
    return {key: plain[key] for key in _KEPT} | {"options": options}


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedFigure:
    """One figure in words: what it is, what it was then, what it is now, and by how much it moved."""

    name: str
    then: str
    now: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What moved.

    Attributes
    ----------
    turned : bool
        The verdict is another one.
    sentence : str
        The same in words.
    figures : tuple of MovedFigure
        Those that differ as they are shown.
    """

    turned: bool
    sentence: str
    figures: tuple[MovedFigure, ...]


def what_moved(then: Mapping[str, Any], now: Mapping[str, Any]) -> Moved:
    """Return what moved between two sets of figures, each as `figures_of` gives them."""
    was, is_now = verdict_word(then), verdict_word(now)
    turned = was != is_now
    if turned:
        sentence = say("The verdict turns: it was '{then}', it is '{now}'.", then=was, now=is_now)
    else:
        sentence = say("The verdict is the same: '{now}'.", now=is_now)
    figures = [figure for figure in _figures(then, now) if figure.then != figure.now]
    return Moved(turned=turned, sentence=sentence, figures=tuple(figures))


def verdict_word(figures: Mapping[str, Any]) -> str:
    """Return the verdict in a word, or that there is none yet."""
    return option_name(figures["verdict"]) if _is_evaluated(figures) else say("not evaluated yet")


def _is_evaluated(figures: Mapping[str, Any]) -> bool:
    """Tell whether there is a verdict; papers of earlier versions were only made where there was one."""
    return bool(figures.get("ready", True))


def _figures(then: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[MovedFigure]:
    """Give each figure of both; without a verdict there is none of a way forward to be told."""
    evaluated = _is_evaluated(then) and _is_evaluated(now)
    if evaluated:
        yield _figure(say("How sure"), then, now, lambda side: say(side["clarity"]))
        yield _figure(say("It beats the next way in"), then, now, lambda side: of_100(side["beats_next"]))
    yield _figure(
        say("Condition, 0 to 100"), then, now, lambda side: f"{side['score']:.0f}", lambda side: side["score"]
    )
    if not evaluated:
        return
    names = dict.fromkeys([*then["options"], *now["options"]])
    for name in names:
        yield from _option(option_name(name), then["options"].get(name), now["options"].get(name))


def _option(name: str, then: Mapping[str, Any] | None, now: Mapping[str, Any] | None) -> Iterator[MovedFigure]:
    def named(what: str) -> str:
        return say("{option}: {figure}", option=name, figure=what)

    if then is None or now is None:
        offered, missing = say("offered"), say("not offered")
        yield MovedFigure(
            name=name, then=missing if then is None else offered, now=missing if now is None else offered, by=""
        )
        return
    yield _figure(
        named(say("price")), then, now, lambda side: money_range(_range(side["price"])), lambda s: s["expected_price"]
    )
    if "fixed_price" in then and then["fixed_price"] and now["fixed_price"]:
        yield _figure(
            named(say("what is fixed")), then, now, lambda side: exact(side["fixed_price"]),
            lambda side: side["fixed_price"],
        )  # fmt: skip
    yield _figure(
        named(say("worth afterwards")), then, now, lambda side: money_range(_range(side["value_after"])),
        lambda side: side["value_after"]["likely"],
    )  # fmt: skip
    yield _figure(named(say("years of good service")), then, now, lambda side: years_range(_range(side["years"])))
    yield _figure(
        named(say("what it comes to, all counted")), then, now, lambda side: money(side["expected_net"]),
        lambda side: side["expected_net"],
    )  # fmt: skip
    yield _figure(named(say("best in")), then, now, lambda side: of_100(side["chance_best"]))


def _figure(
    name: str,
    then: Mapping[str, Any],
    now: Mapping[str, Any],
    tell: Callable[[Mapping[str, Any]], str],
    amount: Callable[[Mapping[str, Any]], float] | None = None,
) -> MovedFigure:
    by = "" if amount is None else _by(amount(then), amount(now))
    return MovedFigure(name=name, then=tell(then), now=tell(now), by=by)


def _by(then: float, now: float) -> str:
    """Return by how much an amount moved, with its sign, and which share that is where a share says anything."""
    step = honest(now - then)
    if not step:
        return ""
    moved = f"{'+' if step > 0 else ''}{exact(step)}"
    if then <= 0:
        return moved
    return say("{amount} ({share})", amount=moved, share=f"{'+' if step > 0 else '-'}{percent(abs(now - then) / then)}")


def _range(plain: Mapping[str, float]) -> Range:
    return Range(low=plain["low"], likely=plain["likely"], high=plain["high"])

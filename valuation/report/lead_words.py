"""What moves the lead of today's verdict, and what each sum spent can bring, in sentences for the technician."""

from __future__ import annotations

from valuation.engine.frontier import CostAndResult, Spot
from valuation.engine.swings import Swing
from valuation.language import say
from valuation.report.format import honest, money
from valuation.report.labels import in_sentence, option_name

_WORTH_TELLING = 1.0
"""A driver that moves the lead by less is left out [money]."""


def telling(swings: tuple[Swing, ...]) -> tuple[Swing, ...]:
    """Return the drivers that move the lead at all, the widest first."""
    return tuple(swing for swing in swings if swing.width >= _WORTH_TELLING)


def driver_name(driver: str) -> str:
    """Return what is turned, short enough for an axis."""
    return {
        "finished_value": say("Worth when finished"),
        "hours": say("Hours of the tables"),
        "to_hear": say("Worth of hearing it"),
        "horizon": say("Years to look ahead"),
        "playing_year": say("A year of playing"),
    }[driver]


def figure_words(driver: str, figure: float, currency: str) -> str:
    """Return one figure of a driver as people read it."""
    if driver == "hours":
        return f"{round(100 * figure)} %"
    if driver == "horizon":
        return say("{years} years", years=round(figure))
    return money(figure, currency)


def swing_sentence(swing: Swing, verdict: str, currency: str) -> str:
    """Return what turning one driver does to the lead, and where another option would be best."""
    said = [
        say(
            "{driver}: at {low} the lead is {lead_low}, at {high} it is {lead_high}.",
            driver=driver_name(swing.driver),
            low=figure_words(swing.driver, swing.low, currency),
            lead_low=money(swing.lead_low),
            high=figure_words(swing.driver, swing.high, currency),
            lead_high=money(swing.lead_high),
        )
    ]
    for then, figure in ((swing.then_low, swing.low), (swing.then_high, swing.high)):
        if then != verdict:
            said.append(
                say(
                    "At {figure} '{option}' would be best.",
                    figure=figure_words(swing.driver, figure, currency),
                    option=in_sentence(option_name(then)),
                )
            )
    return " ".join(said)


def best_spot(found: CostAndResult) -> Spot | None:
    """Return the plan of work on the frontier with the greatest net."""
    return max(found.frontier, key=lambda spot: spot.net, default=None)


def frontier_sentences(found: CostAndResult, currency: str) -> tuple[str, ...]:
    """Return what the frontier says: where spending more stops paying, and what the next plans either way would do."""
    best = best_spot(found)
    if best is None:
        return (say("No plan of work is open."),)
    said = [
        say(
            "Of all plans of work the best costs {price} and comes out at a net of {net}.",
            price=money(best.price, currency),
            net=money(best.net, currency),
        )
    ]
    i = found.frontier.index(best)
    cheaper = next((spot for spot in reversed(found.frontier[:i]) if honest(best.price - spot.price) > 0), None)
    dearer = next((spot for spot in found.frontier[i + 1 :] if honest(spot.price - best.price) > 0), None)
    if cheaper is not None:
        said.append(
            say(
                "The next cheaper one saves {saved} and brings {lost} less.",
                saved=money(best.price - cheaper.price, currency),
                lost=money(best.result - cheaper.result, currency),
            )
        )
    if dearer is not None:
        said.append(
            say(
                "The next dearer one costs {more} more and brings {gained} more.",
                more=money(dearer.price - best.price, currency),
                gained=money(dearer.result - best.result, currency),
            )
        )
    return tuple(said)

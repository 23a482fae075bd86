"""What the shop promised against what came, for the owner's page; and one line of it for papers."""

from __future__ import annotations

from datetime import date

from valuation.engine.rows import Tables
from valuation.jobs.stages import gone_home
from valuation.learn.scoreboard import PRICE, Promise, promises_of, scores
from valuation.service.known import booked_in
from valuation.service.outcomes import MOST_JOBS
from valuation.service.visits import Shop

LEAST_ON_PAPERS = 20
"""From so many prices of which it is known what came a paper says how many of them held."""


def promises(shop: Shop, book: Tables, *, on: date, demo: bool) -> list[Promise]:
    """Return every promise of which it is known what came, of the newest finished jobs."""
    finished = booked_in(shop, book, gone_home(book.stages), on=on, demo=demo, most=MOST_JOBS)
    return [promise for booked in finished for promise in promises_of(booked)]


def prices_held(shop: Shop, book: Tables, *, on: date) -> tuple[int, int] | None:
    """Return how many of the prices told held, and of how many; None as long as that tells too little for a paper."""
    told = [promise for promise in promises(shop, book, on=on, demo=False) if promise.kind == PRICE]
    if len(told) < LEAST_ON_PAPERS:
        return None
    [score] = scores(told)
    return score.kept.count, score.kept.of

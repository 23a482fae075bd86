"""'What happened', 'Today' and 'Bench' against an independent script over the exported workbook, as `test_books`.

The chances by model and the dates by simulation are held elsewhere, to other libraries and to a twin that plays day by
day; here they are taken as told.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from scipy.stats import beta
from simulated_year import HOURS_A_WEEK, LAST, PEOPLE
from test_books import assert_share, jobs_of, left_of_operations

from valuation import service
from valuation.learn.scoreboard import month_of, scores, who_of

YES, NO = ("accepted", "in_workshop", "delivered"), ("declined", "retired")
SETTLED = 180


def evaluations_of(sheets) -> pd.DataFrame:
    """Every evaluation that a client was told of, with how it stands and how long that took [days]."""
    rows = sheets["evaluations"].dropna(subset="evaluated_on").copy()
    rows["yes"], rows["no"] = rows.stage.isin(YES), rows.stage.isin(NO)
    rows["open"] = ~rows.yes & ~rows.no
    decided = rows.agreed_on.where(rows.yes, rows.stage_since.where(rows.no))
    rows["waited"] = (decided.fillna(pd.Timestamp(LAST)) - rows.evaluated_on).dt.days
    old = (pd.Timestamp(LAST) - rows.evaluated_on).dt.days >= SETTLED
    rows["old"], rows["came"] = old, old & rows.yes & (rows.waited <= SETTLED)
    rows["month"] = rows.evaluated_on.dt.strftime("%Y-%m")
    edges = rows.price_likely.quantile([1 / 3, 2 / 3])
    rows["price"] = (1 + np.searchsorted(edges, rows.price_likely, side="right")).astype(str)
    return rows


def test_the_year_has_enough_in_it(year):
    rows = evaluations_of(year.sheets)
    assert year.happened.evaluations == len(rows) > 60
    assert min(rows.yes.sum(), rows.no.sum(), rows.open.sum()) > 10


@pytest.mark.parametrize("by", ["month", "source", "verdict", "technician", "price"])
def test_what_became_of_each_group(year, by):
    rows = evaluations_of(year.sheets)
    assert [one.group for one in year.happened.by[by]] == sorted(rows[by].unique())
    for one in year.happened.by[by]:
        own = rows[rows[by] == one.group]
        assert (one.evaluations, one.yes, one.no, one.open) == (len(own), own.yes.sum(), own.no.sum(), own.open.sum())
        assert (one.settled.count, one.settled.of) == (own.came.sum(), own.old.sum())
        assert_share(one.settled)


def test_how_far_they_got(year):
    every = year.sheets["evaluations"]
    step = pd.Series(2, index=every.index)
    step[every.evaluated_on.notna()] = 3
    step[every.agreed_on.notna()] = 5
    step[every.stage == "in_workshop"] = 6
    step[every.stage == "delivered"] = 7
    assert [one.reached for one in year.happened.way] == [int((step >= n).sum()) for n in range(1, 8)]
    for one in year.happened.way:
        assert_share(one.of_before)
    of_before = {one.stage: (one.of_before.count, one.of_before.of) for one in year.happened.way}
    told, agreed = every.evaluated_on.notna(), every.agreed_on.notna()
    assert of_before["evaluated"] == ((step >= 3).sum(), len(every))
    assert of_before["discussed"] == ((told & (step >= 4)).sum(), told.sum())
    assert of_before["in_workshop"] == ((agreed & (step >= 6)).sum(), agreed.sum())
    assert of_before["accepted"] == (
        0,
        0,
    )  # nobody was written down as asked: whether they say yes isn't told by others


def test_why_evaluations_came_to_a_no(year):
    no = year.sheets["evaluations"].query("stage in @NO", local_dict={"NO": list(NO)})
    assert dict(year.happened.lost) == no.reason.value_counts().to_dict()


def test_how_long_clients_take(year):
    """Kaplan and Meier for who is undecided, Aalen and Johansen for yes and no: by hand, day by day."""
    rows = evaluations_of(year.sheets)
    left, yes, no = 1.0, 0.0, 0.0
    curves = {}
    for day in range(int(rows.waited.max()) + 1):
        at_risk = (rows.waited >= day).sum()
        now = rows[rows.waited == day]
        if at_risk:
            yes, no = yes + left * now.yes.sum() / at_risk, no + left * now.no.sum() / at_risk
            left *= 1 - (now.yes.sum() + now.no.sum()) / at_risk
        curves[day] = (left, yes, no)
    found = year.happened
    for day in (0, 5, 10, 30, 60, 120):
        told = tuple(curve.at(day)[0] for curve in (found.undecided, found.yes, found.no))
        assert told == pytest.approx(curves[day])


def test_each_quarter_of_the_front_page(year):
    rows = evaluations_of(year.sheets).query("old")
    quarter = rows.evaluated_on.dt.to_period("Q").astype(str).str.replace("Q", "-Q")
    sums = rows.groupby(quarter).came.agg(["sum", "count"])
    assert {q.name: (q.jobs, q.evaluations) for q in year.quarters} == {
        name: tuple(row) for name, row in sums.tail(8).iterrows()
    }


def test_the_band_of_each_quarter_leans_on_all_as_far_as_quarters_differ_by_chance(year):
    """A beta-binomial model by moments, from the counts alone: Kleinman, J. Am. Stat. Assoc. 68 (1973) 46."""
    jobs, of = (np.array([getattr(q, name) for q in year.quarters], float) for name in ("jobs", "evaluations"))
    mean = (jobs.sum() + 0.5) / (of.sum() + 1)
    beyond = (of * (jobs / of - mean) ** 2).sum() / (mean * (1 - mean)) - (len(of) - 1)
    alike = beyond / (of.sum() - (of**2).sum() / of.sum() + beyond)
    weight = of.sum() if alike <= 0 else min(max(1 / alike - 1, 2), of.sum())
    for quarter, came, all_ in zip(year.quarters, jobs, of, strict=True):
        own = beta(weight * mean + came, weight * (1 - mean) + all_ - came)
        told = (quarter.share.low, quarter.share.share, quarter.share.high)
        assert told == pytest.approx(own.ppf([0.1, 0.5, 0.9]))


def test_a_new_piano_is_taken_to_be_like_the_one_in_the_middle(year):
    hours = year.sheets["evaluations"].hours_estimated.dropna()
    assert year.new_piano.hours == pytest.approx(hours.sort_values().iloc[(len(hours) - 1) // 2])
    assert year.new_piano.dates.on == LAST


def test_the_hours_in_hand_and_those_promised_by_each_day(year):
    left = left_of_operations(year.sheets)
    assert year.happened.in_hand == pytest.approx(left.sum(), rel=1e-3)
    promised = year.sheets["evaluations"].set_index("visit").promised_on.loc[left.index]
    assert [one.by for one in year.ahead] == sorted(set(promised.dt.date))
    for one in year.ahead:
        assert one.promised == pytest.approx(left[promised.dt.date <= one.by].sum(), rel=1e-3)
        days = np.busday_count(LAST, one.by + timedelta(days=1))
        assert one.there == pytest.approx(days * HOURS_A_WEEK / 5 * len(PEOPLE))
        assert one.short == pytest.approx(max(one.promised - one.there, 0))


def test_whom_to_ring_with_what_is_at_stake(year):
    table = pd.read_csv(service.PACKAGED / "follow_ups.csv")
    every = year.sheets["evaluations"]
    rows = every.merge(table[["stage", "after_days", "what"]], on="stage")
    rows["due"] = (rows.stage_since + pd.to_timedelta(rows.after_days, unit="D")).dt.date
    latest = rows[rows.due <= LAST].sort_values("due").groupby("visit").last()
    assert {one.visit: (one.what, one.due_on) for one in year.ringing} == {
        visit: (row.what, row.due) for visit, row in latest.iterrows()
    }
    chance = {one.visit: one.share for one in year.happened.open}
    by_visit = every.set_index("visit")
    for one in year.ringing:
        row = by_visit.loc[one.visit]
        assert one.price == pytest.approx(row.price_likely, nan_ok=True)
        assert (one.client, one.phone) == (row.client, f"0123 {row.client.split()[1]}")
        assert one.at_stake == pytest.approx(row.price_likely * chance.get(one.visit, 0.0))
    stakes = [one.at_stake for one in year.ringing]
    assert stakes == sorted(stakes, reverse=True)
    assert not {row.visit for row in every.itertuples() if row.stage in NO} & {one.visit for one in year.ringing}


def test_of_those_on_their_way_all_and_only_the_open_ones_have_a_chance(year):
    rows = evaluations_of(year.sheets).query("open")
    assert {one.visit for one in year.happened.open} == set(rows.visit)
    for one in year.happened.open:
        told = rows.set_index("visit").evaluated_on[one.visit].date()
        assert one.waited == (LAST - told).days
        assert isinstance(told, date)


def test_promises_against_what_came(year):
    """Prices, hours and days of the jobs of the span that took the way they were told for, from the sheets alone."""
    jobs = jobs_of(year.sheets).reset_index()
    found = year.sheets["if_found_lines"].query("answer == 'yes'").groupby("visit").price.sum()
    jobs["paid"] = jobs.price_agreed + jobs.visit.map(found).fillna(0.0)
    told = jobs[(jobs.verdict == jobs.agreed_option) & jobs.evaluated_on.notna()]
    kept = {
        "price": told.paid.between(told.price_low, told.price_high),
        "hours": told.hours_done.between(told.hours_low, told.hours_high),
    }
    made = scores(year.books.promises)
    assert [one.kind for one in made] == ["price", "hours", "day"]
    for one in made[:2]:
        assert (one.kept.count, one.kept.of) == (kept[one.kind].sum(), len(told))
    promised = jobs.dropna(subset="promised_on")
    in_time = promised.stage_since <= promised.promised_on
    assert (made[2].kept.count, made[2].kept.of) == (in_time.sum(), len(promised))
    for one in made:
        assert_share(one.kept)
    assert [one.said for one in made] == [0.8, 0.8, 0.9]
    month = promised.stage_since.dt.strftime("%Y-%m")
    by_month = {
        one.of: (one.kept.count, one.kept.of) for one in scores(year.books.promises, month_of) if one.kind == "day"
    }
    assert by_month == {name: (own.sum(), len(own)) for name, own in in_time.groupby(month)}
    for one in scores(year.books.promises, who_of):
        if one.kind == "price":
            own = kept["price"][told.technician == one.of]
            assert (one.kept.count, one.kept.of) == (own.sum(), len(own))


def test_where_8_of_10_were_promised_and_held_nothing_is_said(year):
    """The clients of this year were told what holds in 8 of 10, and days that hold in 9: the scoreboard agrees."""
    for one in scores(year.books.promises):
        assert one.kept.is_told
        assert not one.says

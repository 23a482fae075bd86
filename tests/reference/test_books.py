"""The owner's pages against an independent script: every figure worked out anew from the exported workbook by pandas.

The script below knows the manual's columns and nothing of the tool's own reckoning.
"""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pandas as pd
import pytest
from scipy.stats import lognorm, norm
from simulated_year import LAST, SPREAD

from valuation import service
from valuation.jobs.records import EstimatedHours, Job, WorkDone
from valuation.learn import compare_estimates
from valuation.service.books import period

SPAN = period("year", LAST)


def jobs_of(sheets) -> pd.DataFrame:
    """One row a job that went home within the span, with all its money before tax."""
    jobs = sheets["evaluations"].query("stage == 'delivered'").set_index("visit")
    gone = pd.to_datetime(jobs.stage_since).dt.date
    jobs = jobs[(gone >= SPAN[0]) & (gone <= SPAN[1])].copy()
    found = sheets["if_found_lines"].query("answer == 'yes'").groupby("visit").price.sum()
    changed = sheets["changes"].groupby("visit").price.sum()
    lines = sheets["agreed_lines"].groupby("visit")[["labour", "materials", "outside", "hours"]].sum()
    used = sheets["materials_used"].groupby("visit").cost.sum()
    bought = sheets["money_moved"].query("what == 'bought_in'").groupby("visit").amount.sum()
    back = sheets["returned"].groupby("visit")[["hours", "cost"]].sum()

    def of(series: pd.Series) -> pd.Series:
        return series.reindex(jobs.index).fillna(0.0)

    jobs["final"] = jobs.price_agreed + of(found) + of(changed)
    jobs["price"] = jobs.final / (1 + jobs.tax)
    jobs["material"] = of(used).where(of(used) > 0, of(lines.materials))
    outside = of(bought) / (1 + jobs.tax)
    jobs["outside"] = outside.where(outside > 0, of(lines.outside))
    jobs["earned"] = jobs.price - jobs.material - jobs.outside
    jobs["back_cost"], jobs["back_hours"] = of(back.cost), of(back.hours)
    jobs["worked"] = of(sheets["hours_worked"].groupby("visit").hours.sum())
    jobs["rate"] = of(lines.labour) / of(lines.hours)
    return jobs


def ratio(above: pd.Series, below: pd.Series) -> tuple[float, float, float]:
    """A ratio of sums with its interval by the jackknife's linear form, for 9 in 10."""
    from scipy.stats import t

    r, n = above.sum() / below.sum(), len(above)
    error = np.sqrt(n / (n - 1) * ((above - r * below) ** 2).sum()) / below.sum()
    return r, r - t.ppf(0.95, n - 1) * error, r + t.ppf(0.95, n - 1) * error


def wilson(count: int, of: int) -> tuple[float, float]:
    """Wilson's limits of a share for 9 in 10, as Newcombe writes them (Statistics in Medicine 17, 1998, 857)."""
    z, p = norm.ppf(0.95), count / of
    middle, reach = 2 * of * p + z**2, z * np.sqrt(z**2 + 4 * of * p * (1 - p))
    return (middle - reach) / (2 * (of + z**2)), (middle + reach) / (2 * (of + z**2))


def assert_share(one) -> None:
    """Hold the limits of a share on a page to Wilson's."""
    if one.of:
        assert (one.low, one.high) == pytest.approx(wilson(one.count, one.of), abs=1e-9)


def assert_earned(one, money: pd.Series, hours: pd.Series, at_rate: pd.Series) -> None:
    """Hold what was earned an hour, the rate of the lines, and whether a loss is told of, to the jobs."""
    assert one.rate == pytest.approx(at_rate.sum() / hours.sum())
    assert one.per_hour.value == pytest.approx(money.sum() / hours.sum())
    if len(hours) < 5:
        assert (one.per_hour.low, one.says) == (None, False)
        return
    assert told(one.per_hour) == pytest.approx(ratio(money, hours), rel=1e-6)
    _, low, high = ratio(money, hours)
    assert one.says == (not low <= one.rate <= high)


def assert_accuracy(one, own: pd.DataFrame) -> None:
    """Hold bias and spread of hours, one ratio a job, to the jobs."""
    if len(own) < 5:
        assert (one.bias, one.spread) == (None, None)
        return
    assert (one.bias, one.bias_low, one.bias_high) == pytest.approx(ratio(own.done, own.hours), rel=1e-3)
    assert one.spread == pytest.approx(np.log(own.done / own.hours).std(ddof=1), rel=1e-3)


def told(one) -> tuple[float, float, float]:
    return one.value, one.low, one.high


def test_the_year_has_enough_in_it(year):
    found, sheets = year.books, year.sheets
    assert len(jobs_of(sheets)) == len(found.earned.jobs) > 15
    assert not found.earned.without


def test_what_an_hour_earned_and_the_margin(year):
    found, sheets = year.books, year.sheets
    jobs = jobs_of(sheets)
    hours = jobs.worked + jobs.back_hours
    assert told(found.earned.whole.per_hour) == pytest.approx(ratio(jobs.earned - jobs.back_cost, hours), rel=1e-6)
    assert found.earned.whole.hours == pytest.approx(hours.sum())
    assert found.earned.whole.rate == pytest.approx((jobs.rate * hours).sum() / hours.sum())
    costs = 40 * hours.sum() + (jobs.material + jobs.outside + jobs.back_cost).sum()
    assert found.earned.margin == pytest.approx(1 - costs / jobs.price.sum())


def by(sheets, what: str) -> pd.DataFrame:
    """Hours, money and money at the lines' rate of each job and operation or person."""
    jobs = jobs_of(sheets)
    lines = sheets["agreed_lines"][["visit", "operation", "labour"]]
    extra = sheets["if_found_lines"].query("answer == 'yes'").set_index("visit")
    extra = extra[extra.index.isin(jobs.index)].reset_index()
    extra["labour"] = extra.price / (1 + extra.visit.map(jobs.tax))
    weights = pd.concat([lines, extra[["visit", "operation", "labour"]]])
    weights = weights.groupby(["visit", "operation"]).labour.sum().reset_index()
    worked = sheets["hours_worked"].groupby(["visit", "operation", "person"]).hours.sum().reset_index()
    worked = worked[worked.visit.isin(jobs.index)].merge(weights, how="left", on=["visit", "operation"])
    whole = weights.groupby("visit").labour.sum()
    of_operation = worked.groupby(["visit", "operation"]).hours.transform("sum")
    share = worked.labour.fillna(0) / worked.visit.map(whole) * worked.hours / of_operation
    worked["money"] = worked.visit.map(jobs.earned) * share
    worked["at_rate"] = worked.visit.map(jobs.rate) * worked.hours
    return worked.groupby([what, "visit"])[["hours", "money", "at_rate"]].sum()


@pytest.mark.parametrize(("what", "column"), [("operation", "operation"), ("person", "person")])
def test_what_each_operation_and_person_earned_and_lost(year, what, column):
    found, sheets = year.books, year.sheets
    table = by(sheets, column)
    assert len(found.earned.by[what]) == table.index.get_level_values(0).nunique()
    for one in found.earned.by[what]:
        own = table.loc[one.of]
        assert (one.jobs, one.hours, one.money) == (
            len(own), pytest.approx(own.hours.sum()), pytest.approx(own.money.sum()),
        )  # fmt: skip
        assert one.lost == pytest.approx((own.at_rate - own.money).sum())
        assert_earned(one, own.money, own.hours, own.at_rate)
    lost = [one.lost for one in found.earned.by[what]]
    assert lost == sorted(lost, reverse=True)


def test_what_each_source_earned(year):
    found, sheets = year.books, year.sheets
    jobs = jobs_of(sheets)
    for one in found.earned.by["source"]:
        own = jobs[jobs.source == one.of]
        money, hours = own.earned - own.back_cost, own.worked + own.back_hours
        assert (one.jobs, one.money, one.hours) == (len(own), pytest.approx(money.sum()), pytest.approx(hours.sum()))
        assert one.lost == pytest.approx((own.rate * hours).sum() - money.sum())
        assert_earned(one, money, hours, own.rate * hours)


def test_prices_and_materials_against_what_was_priced(year):
    found, sheets = year.books, year.sheets
    jobs = jobs_of(sheets)
    assert told(found.agreed_of_quoted) == pytest.approx(ratio(jobs.price_agreed, jobs.price_quoted), rel=1e-6)
    assert told(found.final_of_agreed) == pytest.approx(ratio(jobs.final, jobs.price_agreed), rel=1e-6)
    used = sheets["materials_used"].groupby("visit").cost.sum()
    used = used[used.index.isin(jobs.index)]
    priced = sheets["agreed_lines"].groupby("visit").materials.sum().reindex(used.index)
    assert told(found.materials_of_priced) == pytest.approx(ratio(used, priced), rel=1e-6)


def priced_and_worked(sheets: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Return the agreed lines of finished jobs beside the hours that each operation took."""
    done = sheets["hours_worked"].groupby(["visit", "operation"]).hours.sum().rename("done").reset_index()
    pairs = sheets["agreed_lines"].merge(done, on=["visit", "operation"])
    return pairs[pairs.visit.isin(jobs_of(sheets).index)]


def test_hours_against_those_expected(year):
    found, sheets = year.books, year.sheets
    pairs = priced_and_worked(sheets)
    sums = pairs.groupby("visit")[["hours", "done"]].sum()
    whole = found.estimates.whole
    assert (whole.bias, whole.bias_low, whole.bias_high) == pytest.approx(ratio(sums.done, sums.hours), rel=1e-3)
    for one in found.estimates.operations:
        own = pairs[pairs.operation == one.of]
        assert (one.jobs, one.estimated, one.done) == (
            len(own), pytest.approx(own.hours.sum(), rel=1e-3), pytest.approx(own.done.sum()),
        )  # fmt: skip


def test_if_found_lines_visits_and_the_year_after(year):
    found, sheets = year.books, year.sheets
    jobs, every = jobs_of(sheets), sheets["evaluations"]
    lines = sheets["if_found_lines"]
    lines = lines[lines.visit.isin(jobs.index) & lines.answer.notna()]
    assert found.said[0].said == pytest.approx(lines.chance.mean())
    assert (found.said[0].needed.count, found.said[0].needed.of) == (lines.answer.isin(["yes", "no"]).sum(), len(lines))
    day = pd.to_datetime(every.visited_on).dt.date
    seen = every[(day >= SPAN[0]) & (day <= SPAN[1])]
    assert (len(found.visited.visits), found.visited.agreed) == (len(seen), seen.agreed_on.notna().sum())
    assert (found.visited.minutes, found.visited.fees) == pytest.approx((seen.minutes.sum(), seen.fee.sum()))
    of_seen = jobs[jobs.index.isin(seen.visit)]
    assert found.from_visits == pytest.approx((of_seen.earned - of_seen.back_cost).sum())
    home = every.query("stage == 'delivered'").copy()
    home["gone"] = pd.to_datetime(home.stage_since).dt.date
    old = home[home.gone <= LAST - timedelta(days=365)]
    back = sheets["returned"].query("days_since_delivery <= 365")
    back = back[back.visit.isin(old.visit)]
    after = found.year_after
    assert (after.back.count, after.back.of) == (back.visit.nunique(), len(old))
    assert (after.hours, after.cost) == pytest.approx((back.hours.sum(), back.cost.sum()))


def test_how_unevenly_hours_run_and_how_often_within_the_estimate(year):
    found, sheets = year.books, year.sheets
    pairs = priced_and_worked(sheets)
    pairs["component"] = pairs.operation.map(component_of_operation())
    whole = pairs.groupby("visit")[["hours", "done"]].sum()
    spread = np.log(whole.done / whole.hours).std(ddof=1)
    assert found.estimates.whole.spread == pytest.approx(spread, rel=1e-3)
    for one in found.estimates.operations:
        own = pairs[pairs.operation == one.of]
        likely = own.hours / np.exp(SPREAD**2 / 2)
        assert (one.within.count, one.within.of) == (own.done.between(likely / 1.5, likely * 1.5).sum(), len(own))
        assert_share(one.within)
        assert_accuracy(one, own)
    by_component = pairs.groupby(["component", "visit"])[["hours", "done"]].sum()
    assert {one.of for one in found.estimates.components} == set(by_component.index.get_level_values(0))
    for one in found.estimates.components:
        own = by_component.loc[one.of]
        assert_accuracy(one, own)
        assert (one.jobs, one.estimated, one.done) == (
            len(own), pytest.approx(own.hours.sum(), rel=1e-3), pytest.approx(own.done.sum()),
        )  # fmt: skip


def component_of_operation() -> dict[str, str]:
    """Read from the tables' own files which component an operation belongs to."""
    operations = pd.read_csv(service.PACKAGED / "operations.csv").dropna(subset="part").drop_duplicates("id")
    parts = pd.read_csv(service.PACKAGED / "parts.csv").set_index("id").component
    return operations.set_index("id").part.map(parts).to_dict()


def test_each_if_found_line_and_each_cause(year):
    found, sheets = year.books, year.sheets
    lines = sheets["if_found_lines"]
    lines = lines[lines.visit.isin(jobs_of(sheets).index) & lines.answer.notna()]
    assert {one.operation for one in found.said[1:]} == set(lines.operation)
    assert_share(found.year_after.back)
    for one in found.said:
        assert_share(one.needed)
        own_low, own_high = wilson(one.needed.count, one.needed.of)
        assert one.says == (own_high - own_low <= 0.4 and not own_low <= one.said <= own_high)
    for one in found.said[1:]:
        own = lines[lines.operation == one.operation]
        assert (one.needed.count, one.needed.of) == (own.answer.isin(["yes", "no"]).sum(), len(own))
        assert one.said == pytest.approx(own.chance.mean())
    home = sheets["evaluations"].query("stage == 'delivered'")
    old = home[pd.to_datetime(home.stage_since).dt.date <= LAST - timedelta(days=365)]
    back = sheets["returned"].query("days_since_delivery <= 365")
    causes = back[back.visit.isin(old.visit)].cause.value_counts()
    assert dict(found.year_after.causes) == causes.to_dict()


def left_of_operations(sheets) -> pd.Series:
    """Hours that each job in hand still takes: of each operation what its lognormal has beyond the hours booked."""
    hand = sheets["evaluations"].query("stage in ['accepted', 'in_workshop']")
    lines = sheets["agreed_lines"][sheets["agreed_lines"].visit.isin(hand.visit)]
    done = sheets["hours_worked"].groupby(["visit", "operation"]).hours.sum().rename("done").reset_index()
    lines = lines.merge(done, how="left", on=["visit", "operation"]).fillna({"done": 0.0})
    hours = lognorm(SPREAD, scale=1.0)
    likely = lines.hours / np.exp(SPREAD**2 / 2)
    beyond = [hours.expect(lb=d) / hours.sf(d) - d for d in lines.done / likely]
    return (likely * beyond).groupby(lines.visit).sum()


def test_jobs_in_hand_go_on_from_the_hours_booked(year):
    found, sheets = year.books, year.sheets
    left = left_of_operations(sheets)
    rows = sheets["evaluations"].set_index("visit").loc[left.index]
    done = sheets["hours_worked"].groupby("visit").hours.sum().reindex(left.index).fillna(0.0)
    extra = sheets["if_found_lines"].query("answer == 'yes'")
    assert len(found.in_hand) == len(left) > 3
    assert extra.visit.isin(left.index).any()
    for one in found.in_hand:
        assert one.priced == pytest.approx(rows.hours_priced[one.visit], rel=1e-3)
        assert one.done == pytest.approx(done[one.visit])
        assert one.left == pytest.approx(left[one.visit], rel=1e-3)
        assert one.promised == rows.promised_on[one.visit].date()
        beyond = done[one.visit] + left[one.visit] - rows.hours_priced[one.visit]
        assert one.over == pytest.approx(beyond if beyond > 0.1 * rows.hours_priced[one.visit] else 0, abs=0.05)
    assert any(one.over for one in found.in_hand)
    assert not all(one.over for one in found.in_hand)
    days = [one.promised for one in found.in_hand]
    assert days == sorted(days)


def test_a_shop_that_estimates_without_fault_is_told_so():
    """Hours drawn from the estimates themselves, a part of each job's luck shared by all its operations: no bias."""
    rng, of_job = np.random.default_rng(5), 0.18
    own, over = math.sqrt(SPREAD**2 - of_job**2), 1.5
    jobs = []
    for number in range(4000):
        luck, likely = of_job * rng.standard_normal(), rng.uniform(3, 20, 8)
        hours = likely * np.exp(luck + own * rng.standard_normal(8))
        names = [f"o{k}" for k in range(8)]
        estimate = tuple(
            EstimatedHours(operation=n, low=h / over, likely=h, high=h * over)
            for n, h in zip(names, likely, strict=True)
        )
        work = tuple(WorkDone(operation=n, hours=h) for n, h in zip(names, hours, strict=True))
        jobs.append(Job(visit=f"v{number}", kind="grand", estimate=estimate, work=work, delivered=LAST))
    told = compare_estimates(jobs, service.load_shop())
    assert told.whole.bias == pytest.approx(1, abs=0.01)
    assert told.whole.bias_low < 1 < told.whole.bias_high


def test_the_sheets_come_with_types(year):
    sheets = year.sheets
    assert pd.api.types.is_datetime64_any_dtype(sheets["hours_worked"].day)
    assert pd.api.types.is_float_dtype(sheets["agreed_lines"].labour)
    assert sheets["evaluations"].invented.dtype == bool

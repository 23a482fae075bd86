"""Why the verdict, and what would change it, as data."""

from __future__ import annotations

import numpy as np

from valuation.core.appraisal import Flip, Reason
from valuation.core.decide import Decision, Study, expected_prices, is_within
from valuation.core.expect import at_other_stakes
from valuation.core.flips import Turn, turns_on_grid, turns_on_lines
from valuation.core.next_checks import Joint, plans_worth_having
from valuation.core.options import KEEP, PARTIAL, REBUILD, RETIRE, Action, ways
from valuation.core.rows import STATES

_ELSEWHERE = (-0.4, 0.5)
"""Turns of value and hours for which the best single change to a plan is also weighed: plans move with the figures."""

HORIZONS = (5.0, 10.0, 20.0, 40.0)
_NOTICEABLE = 0.02
"""Reasons below this share of the heaviest are left out."""


def all_actions(study: Study, decision: Decision) -> list[Action]:
    """Return the options and every plan that one more piece of knowledge could make best, within the budget."""
    expected, way = decision.expected, decision.ways
    value = expected.value().scaled(expected.stakes.kept_at_end)
    elsewhere = (
        *(way.work + value.scaled(x) for x in _ELSEWHERE),
        *(way.work + way.labour.scaled(-x) for x in _ELSEWHERE),
    )
    plans = plans_worth_having(expected, way.work, decision.near, study.rules, elsewhere)
    options = np.where(study.shop.are_rebuilds(plans), REBUILD, PARTIAL).tolist()
    actions = [Action(option, plan, way.work) for option, plan in zip(options, plans, strict=True)]
    actions += [Action(KEEP, study.shop.keep_all, way.keep), Action(RETIRE, study.shop.keep_all, way.sell)]
    if expected.stakes.wants_to_play:
        actions.append(Action(RETIRE, study.shop.keep_all, way.exchange, exchange=True))
    budget = expected.stakes.budget
    if budget is None:
        return actions
    prices = expected_prices(expected, way, actions, expected.means(np.array([action.plan for action in actions])))
    return [action for action, price in zip(actions, prices, strict=True) if is_within(budget, action, price)]


def breakdown(decision: Decision, option: str) -> dict[str, float]:
    """Return what an option's expected net is made of; the figures add up to it."""
    expected, way = decision.expected, decision.ways
    stakes = expected.stakes
    means = decision.means[option]
    value = float(expected.value().of(means))
    net = decision.nets[option]
    if option == RETIRE:
        proceeds = float(way.sell.of(means))
        return {"proceeds": proceeds, "replacement": net - proceeds}
    playing = stakes.playing_year * float(expected.service().of(means))
    heart = float(expected.heart().of(means))
    scale = stakes.kept_at_end * (1.0 if option == KEEP else stakes.finished_scale)
    return {
        "price": -decision.prices[option],
        "value_kept": value * scale,
        "playing": playing,
        "heart": heart,
    }


def reasons(study: Study, decision: Decision, joint: Joint, actions: list[Action], pulls) -> tuple[Reason, ...]:
    """Return the reasons for and against, heaviest first.

    Parameters
    ----------
    joint, actions : Joint, list of Action
        Expected nets shared out over the parts' states.
    pulls : dict of str to tuple of str
        Findings of each part, the strongest first.
    """
    best, following = decision.verdict, decision.next_option
    found = [*_money_reasons(study, decision, best, following), *_part_reasons(decision, joint, actions, pulls)]
    heaviest = max((reason.weight for reason in found), default=0.0)
    found = [reason for reason in found if reason.weight > _NOTICEABLE * heaviest]
    found.sort(key=lambda reason: (-reason.weight, reason.code, reason.subject))
    stops = [
        Reason(
            code="stop_rule",
            speaks_for=best,
            over="",
            weight=0.0,
            subject=row.id,
            figures={},
            findings=(row.check,) if row.check else (),
            rows=(f"cautions:{row.id}",),
        )
        for row in study.rules.in_force
        if row.rank == "stop"
    ]
    return (*stops, *found)


def _money_reasons(study: Study, decision: Decision, best: str, following: str) -> list[Reason]:
    if best == following:
        return []
    mine, theirs = breakdown(decision, best), breakdown(decision, following)
    rows = {
        "price": ("rates", "operations"),
        "value_kept": study.market.rows,
        "playing": (_replacement_row(study), "settings:playing_worth"),
        "heart": ("settings:premium_unplayed",),
        "proceeds": (*study.market.rows, _replacement_row(study)),
        "replacement": (_replacement_row(study),),
    }
    found = []
    for code in rows:
        difference = mine.get(code, 0.0) - theirs.get(code, 0.0)
        if difference:
            found.append(
                Reason(
                    code=code,
                    speaks_for=best if difference > 0 else following,
                    over=following if difference > 0 else best,
                    weight=abs(difference),
                    subject="",
                    figures={best: mine.get(code, 0.0), following: theirs.get(code, 0.0)},
                    findings=(),
                    rows=rows[code],
                )
            )
    return found


def _part_reasons(decision: Decision, joint: Joint, actions: list[Action], pulls) -> list[Reason]:
    """What each part's condition does to the lead over keeping all as it is, against the lead were the part sound.

    Where keeping is the verdict itself, the lead over the next option counts.
    """
    other = decision.next_option if decision.verdict == KEEP else KEEP
    by_option: dict[str, int] = {}
    for k, action in enumerate(actions):
        if action.option not in by_option or joint.nets[k] > joint.nets[by_option[action.option]]:
            by_option[action.option] = k
    if other == decision.verdict or not {decision.verdict, other} <= by_option.keys():
        return []
    states = decision.expected.condition.states
    lead = joint.by_state[by_option[decision.verdict]] - joint.by_state[by_option[other]]
    lead_if_sound = lead[:, 0] / states[:, 0]
    found = []
    for p, part in enumerate(decision.expected.shop.parts):
        weight = float(lead[p].sum() - lead_if_sound[p])
        found.append(
            Reason(
                code="part",
                speaks_for=decision.verdict if weight > 0 else other,
                over=other if weight > 0 else decision.verdict,
                weight=abs(weight),
                subject=part.id,
                figures={state: float(states[p, s]) for s, state in enumerate(STATES)},
                findings=pulls.get(part.id, ()),
                rows=(f"parts:{part.id}",),
            )
        )
    return found


def _replacement_row(study: Study) -> str:
    row = study.market.replacement
    return f"replacements:{row.kind}/{row.tier}"


def flips(study: Study, decision: Decision, joint: Joint, actions: list[Action]) -> tuple[Flip, ...]:
    """Return where the verdict turns along each driver."""
    expected, way, stakes = decision.expected, decision.ways, decision.expected.stakes
    options = [action.option for action in actions]
    means = expected.means(np.array([action.plan for action in actions]))
    works = np.array([option in (REBUILD, PARTIAL) for option in options])
    keeps = np.array([option != RETIRE for option in options])
    nets = joint.nets
    value = np.where(works, expected.value().of(means), 0.0)
    labour = np.where(works, way.labour.of(means), np.where(keeps, way.keep_labour, 0.0))
    finished_by = decision.actions.get(decision.verdict)
    if decision.verdict not in (REBUILD, PARTIAL):
        finished_by = decision.actions.get(REBUILD) or decision.actions.get(PARTIAL)
    found = []
    if finished_by is not None:
        today = float(expected.value().of(decision.means[finished_by.option])) * stakes.finished_scale
        turns = turns_on_lines(nets, value * stakes.kept_at_end, options, (-0.95 * stakes.finished_scale, 4.0))
        found.append(_flip("finished_value", today, turns, lambda x: today * (1 + x / stakes.finished_scale)))
        hours = turns_on_lines(nets, -labour, options, (-0.9, 4.0))
        found.append(_flip("hours", stakes.hours_scale, hours, lambda x: stakes.hours_scale * (1 + x)))
        rate = float(study.prices.rate.max()) * stakes.rate_scale
        found.append(_flip("hourly_rate", rate, hours, lambda x: rate * (1 + x)))
    played = expected.service().scaled(1 / stakes.year_weights.sum()).of(means)
    slope = np.where(keeps, stakes.premium_unplayed + (1 - stakes.premium_unplayed) * played, 0.0)
    reach = (-stakes.premium, 3 * study.market.sound + 20_000)
    premium = turns_on_lines(nets, slope, options, reach)
    found.append(_flip("premium", stakes.premium, premium, lambda x: stakes.premium + x))
    found.append(_horizon_flip(study, decision, actions, options, nets))
    found.append(_budget_flip(decision, actions, nets, means))
    found += _part_flips(decision, joint, options)
    return tuple(found)


def _flip(driver: str, today: float, turns: tuple[Turn | None, Turn | None], value_at) -> Flip:
    below, above = turns
    return Flip(
        driver=driver,
        today=today,
        below=value_at(below.at) if below else None,
        above=value_at(above.at) if above else None,
        then_below=below.option if below else "",
        then_above=above.option if above else "",
    )


def _horizon_flip(
    study: Study, decision: Decision, actions: list[Action], options: list[str], nets: np.ndarray
) -> Flip:
    """Where the verdict turns with the years compared; the worth of a year of playing follows them."""
    today = decision.expected.stakes.horizon
    at = np.array(sorted({*HORIZONS, today}))
    plans = np.array([action.plan for action in actions])
    rows = []
    for years in at:
        if years == today:
            rows.append(nets)
            continue
        stakes = study.what_if(horizon=float(years), stakes=decision.expected.stakes)
        expected = at_other_stakes(decision.expected, stakes)
        way = ways(expected, study.rules, decision.ways)
        means = expected.means(plans)
        read = {REBUILD: way.work, PARTIAL: way.work, KEEP: way.keep}
        payoffs = [read.get(a.option, way.exchange if a.exchange else way.sell) for a in actions]
        rows.append(np.array([payoff.of(mean) for payoff, mean in zip(payoffs, means, strict=True)]))
    turns = turns_on_grid(at, np.array(rows), options, int(np.flatnonzero(at == today)[0]))
    return _flip("horizon", today, turns, lambda x: x)


def _budget_flip(decision: Decision, actions: list[Action], nets: np.ndarray, means: np.ndarray) -> Flip:
    """The most that could be spent below which another option is best."""
    expected, way = decision.expected, decision.ways
    prices = expected_prices(expected, way, actions, means)
    keeps = np.array([action.option == KEEP for action in actions])
    today = expected.stakes.budget
    for limit in sorted({float(price) for price in prices[~keeps] if price > 0}, reverse=True):
        # To keep the piano need not cost anything; all else must cost less than the limit.
        k = int(np.where(keeps | (prices < limit), nets, -np.inf).argmax())
        if actions[k].option != decision.verdict:
            return Flip(driver="budget", today=today, below=limit, then_below=actions[k].option)
    return Flip(driver="budget", today=today)


def _part_flips(decision: Decision, joint: Joint, options: list[str]) -> list[Flip]:
    """States of one part that would turn the verdict, were it known to be in them."""
    states = decision.expected.condition.states
    winner = joint.by_state.argmax(axis=0)
    found = []
    for p, part in enumerate(decision.expected.shop.parts):
        for s, state in enumerate(STATES):
            then = options[winner[p, s]]
            if states[p, s] >= 0.01 and then != decision.verdict:
                chance = float(states[p, s])
                found.append(Flip(driver=f"part:{part.id}", today=None, then_above=then, state=state, chance=chance))
    return found

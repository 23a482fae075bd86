"""The result of an appraisal: figures, reasons as data, and for each the findings and table rows behind it.

This is also the public JSON contract (`valuation.report.contract`): a field's name here is its key there.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from valuation.engine.appraised_advice import CautionResult, Flip, NextCheck, NextStep, Reason
from valuation.engine.appraised_condition import ComponentResult, Conflict, PartResult
from valuation.engine.appraised_work import Allowance, OptionResult, ScopeResult
from valuation.facts.visit import Range


@dataclass(frozen=True, slots=True, kw_only=True)
class Appraisal:
    """Everything that was worked out for one visit.

    Attributes
    ----------
    ready : bool
        Every gate has been looked at, or one is seen to have failed: there is a verdict to speak of.
    open_gates : tuple of str
        Gate parts that nobody has looked at.
    musts : tuple of str
        Checks to make before any verdict that are still open, in the order of the walk.
    must_minutes : float
        What they take [min].
    locked : tuple of str
        Gate parts of which no check can be made: something has to be opened first.
    verdict : str
        rebuild, partial_repair, keep or retire; today's odds only, while not `ready`.
    clarity : str
        clear, leaning or close.
    chance_best : dict of str to float
        Share of draws in which each option is best; adds to 1.
    beats_next : float
        Share of draws in which the verdict beats the next option [-].
    gap : float
        Expected net of the verdict less that of the next option.
    expected_loss : float
        What deciding now costs on average against knowing how each way would come out.
    furniture : bool
        Kept, it would be furniture: it hardly serves, or must not be tuned.
    no_repair_short_of_rebuild : bool
        Nothing between making it safe and a rebuild makes sense.
    stops : dict of str to tuple of str
        Acts that are forbidden today ('tune', 'raise', 'play', 'move'), and the faults behind each.
    use : dict of str to float
        Odds of how much it was played.
    exposure : dict of str to float
        Odds of how the piano has lived.
    worth_of_the_unseen : float
        What knowing all parts that were not looked at would be worth, in money.
    stop_looking : bool
        Nothing left to check is worth its minutes.
    assumed : tuple of str
        What had to be assumed because it isn't known.
    worth_selling : bool
        Nine in ten such pianos bring more, as they stand, than selling and carting away cost.
    prices_by_state : tuple of float, length 4
        Likely price with every part sound, serviceable, worn, failed, in money.
    price_basis, sales_used : str, int
        What they rest on ('band table', 'blend' or 'sales'), and how many sales.
    """

    title: str
    ready: bool
    open_gates: tuple[str, ...]
    musts: tuple[str, ...]
    must_minutes: float
    locked: tuple[str, ...]
    verdict: str
    clarity: str
    chance_best: dict[str, float]
    beats_next: float
    next_option: str
    gap: float
    expected_loss: float
    furniture: bool
    no_repair_short_of_rebuild: bool
    stops: dict[str, tuple[str, ...]]
    scopes: tuple[ScopeResult, ...]
    conflicts: tuple[Conflict, ...]
    score: float
    score_low: float
    score_high: float
    options: tuple[OptionResult, ...]
    parts: tuple[PartResult, ...]
    components: tuple[ComponentResult, ...]
    exposure: dict[str, float]
    use: dict[str, float]
    reasons: tuple[Reason, ...]
    flips: tuple[Flip, ...]
    next_checks: tuple[NextCheck, ...]
    next_steps: tuple[NextStep, ...]
    worth_of_the_unseen: float
    stop_looking: bool
    allowances: tuple[Allowance, ...]
    cautions: tuple[CautionResult, ...]
    not_looked_at: tuple[str, ...]
    cannot_see: tuple[str, ...]
    assumed: tuple[str, ...]
    value_now: Range
    worth_selling: bool
    value_sound: float
    prices_by_state: tuple[float, ...]
    price_basis: str
    sales_used: int
    replacement_price: float
    playing_year: float
    to_have: float
    to_hear: float
    budget: float | None
    horizon: float
    discount_rate: float
    currency: str
    tables_hash: str
    on: date
    seed: int
    draws: int

    def option(self, name: str) -> OptionResult | None:
        """Return one option, or None where there is none."""
        return next((o for o in self.options if o.option == name), None)

    @property
    def best(self) -> OptionResult:
        """The option of the verdict."""
        return next(o for o in self.options if o.option == self.verdict)

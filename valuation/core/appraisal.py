"""The result of an appraisal: figures, reasons as data, and for each the findings and table rows behind it.

This is also the public JSON contract (`valuation.report.contract`): a field's name here is its key there.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from valuation.core.visit import Range


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingResult:
    """One finding and what it did.

    Attributes
    ----------
    check, name : str
    grade : str
        Grade that it most likely reads.
    grades : tuple of float, length 4
        How much it counts for good, fair, poor, failed.
    number : float or None
        The number that was graded, in the check's unit.
    unit : str
    score_without : float
        What the score of its part would be without it [0-100].
    pull : float
        Score with it less score without it [points].
    note : str
    rows : tuple of str
        Table rows behind the grade.
    """

    check: str
    name: str
    grade: str
    grades: tuple[float, ...]
    number: float | None
    unit: str
    score_without: float
    pull: float
    note: str
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartResult:
    """The condition of one part: score and band [0-100], odds of its four states, findings by strength of pull."""

    part: str
    name: str
    component: str
    score: float
    low: float
    high: float
    states: tuple[float, ...]
    state: str
    looked_at: bool
    findings: tuple[FindingResult, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentResult:
    """The condition of one component: score and band [0-100], and its worst part."""

    component: str
    name: str
    score: float
    low: float
    high: float
    worst_part: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a quote. Hours and amounts are expected values; `amount` is before tax.

    Attributes
    ----------
    operation, name, plain : str
    part : str
        Part that it treats; empty for shared steps.
    hours, rate : float
        [h], [money/h].
    labour, materials, outside, amount : float
    findings : tuple of str
        Findings that call for it, worst first.
    because : tuple of str
        Operations of the plan that bring it along.
    rows : tuple of str
    """

    operation: str
    name: str
    plain: str
    part: str
    hours: float
    rate: float
    labour: float
    materials: float
    outside: float
    amount: float
    findings: tuple[str, ...]
    because: tuple[str, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """What teardown may demand beyond the plan.

    Attributes
    ----------
    option, part, operation, name : str
        Option and part concerned; operation that would be needed instead.
    chance : float
        That it is needed [-].
    if_needed : float
        What the plan's price would then rise by, with tax.
    expected : float
        Chance times rise: what the expected price holds for it.
    rows : tuple of str
    """

    option: str
    part: str
    operation: str
    name: str
    chance: float
    if_needed: float
    expected: float
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionResult:
    """One option. Money with tax, in the shop's currency.

    Attributes
    ----------
    option : str
    price, value_after, net, cost_per_year, years : Range
        1 in 10, middle, 9 in 10 of the draws.
    expected_price, expected_value, expected_net : float
        Exact means; `expected_price` is what the lines, the allowances and the tax add up to.
    before_tax, tax : float
        What the lines and allowances add up to, and the tax on it.
    chance_best : float
    affordable : bool
        Within the client's budget, if there is one.
    over_budget : float
        Chance that the price passes the budget [-].
    exchange : bool
        'Retire' with the replacement.
    breakdown : dict of str to float
        What the expected net is made of.
    plan : dict of str to str
        Part to level.
    treatments : dict of str to str
        Part to operation, for the parts that are treated.
    lines : tuple of Line
    """

    option: str
    price: Range
    value_after: Range
    net: Range
    cost_per_year: Range
    years: Range
    expected_price: float
    expected_value: float
    expected_net: float
    before_tax: float
    tax: float
    chance_best: float
    affordable: bool
    over_budget: float
    exchange: bool
    breakdown: dict[str, float]
    plan: dict[str, str]
    treatments: dict[str, str]
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason, as data; worded in `valuation.report.words`.

    Attributes
    ----------
    code : str
        What sort of reason: 'price', 'value_kept', 'playing', 'heart', 'proceeds', 'replacement', 'part' or
        'stop_rule'.
    speaks_for, over : str
        Option that it favours, and over which.
    weight : float
        By how much, in money. For a part: against the same part sound.
    subject : str
        Part or caution concerned.
    figures : dict of str to float
    findings, rows : tuple of str
    """

    code: str
    speaks_for: str
    over: str
    weight: float
    subject: str
    figures: dict[str, float]
    findings: tuple[str, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flip:
    """Where the verdict turns along one driver, or that it doesn't.

    Attributes
    ----------
    driver : str
        'finished_value', 'hours', 'hourly_rate', 'premium', 'horizon', 'budget' or 'part:' and its id.
    today : float or None
        Today's figure; None for a budget that isn't set, and for parts.
    below, above : float or None
        Nearest turning points; None where the verdict doesn't turn within reach.
    then_below, then_above : str
        Options that are best beyond them.
    state : str
        For a part: state in which it would have to be found.
    chance : float
        For a part: chance of that state [-].
    unit : str
    """

    driver: str
    today: float | None
    below: float | None = None
    above: float | None = None
    then_below: str = ""
    then_above: str = ""
    state: str = ""
    chance: float = 0.0
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextCheck:
    """One check worth making now.

    Attributes
    ----------
    gain, gain_per_minute : float
        Expected gain from deciding after it, in money.
    chance_to_turn : float
        That it turns the verdict [-].
    swing : float
        By how much it is expected to move the verdict's lead, either way, in money.
    """

    check: str
    name: str
    part: str
    place: str
    quick: bool
    minutes: float
    gain: float
    gain_per_minute: float
    chance_to_turn: float
    swing: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionResult:
    """A caution or stop rule that applies."""

    caution: str
    rank: str
    text: str
    check: str
    operation: str
    blocks: tuple[str, ...]
    requires: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Appraisal:
    """Everything that was worked out for one visit.

    Attributes
    ----------
    verdict : str
        rebuild, partial_repair, keep or retire.
    clarity : str
        clear, leaning or close.
    chance_best : dict of str to float
        Share of draws in which each option is best; adds to 1.
    beats_next : float
        Share of draws in which the verdict beats the next option [-].
    next_option : str
    gap : float
        Expected net of the verdict less that of the next option.
    expected_loss : float
        What deciding now costs on average against knowing everything.
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
    verdict: str
    clarity: str
    chance_best: dict[str, float]
    beats_next: float
    next_option: str
    gap: float
    expected_loss: float
    score: float
    score_low: float
    score_high: float
    options: tuple[OptionResult, ...]
    parts: tuple[PartResult, ...]
    components: tuple[ComponentResult, ...]
    exposure: dict[str, float]
    reasons: tuple[Reason, ...]
    flips: tuple[Flip, ...]
    next_checks: tuple[NextCheck, ...]
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
    premium: float
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

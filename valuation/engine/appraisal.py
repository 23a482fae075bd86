"""The result of an appraisal: figures, reasons as data, and for each the findings and table rows behind it.

This is also the public JSON contract (`valuation.report.contract`): a field's name here is its key there.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from valuation.facts.visit import Range


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingResult:
    """One finding and what it did.

    Attributes
    ----------
    check, name, fault : str
        `fault` that it reads; 'air' or 'use' for a hidden cause.
    grade : str
        Severity that it most likely reads.
    grades : tuple of float, length 4
        How much it counts for none, slight, marked, severe.
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
    fault: str
    grade: str
    grades: tuple[float, ...]
    number: float | None
    unit: str
    score_without: float
    pull: float
    note: str
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultResult:
    """One fault of a part.

    Attributes
    ----------
    fault, name, plain : str
    severity : str
        Severity that it most likely has, given that it is there.
    severities : tuple of float, length 4
        Odds of none, slight, marked, severe.
    makes : str
        State that the likeliest severity makes of its part.
    looks : str
        What that severity looks like.
    checks : tuple of str
        Checks made that read it.
    rows : tuple of str
    """

    fault: str
    name: str
    plain: str
    severity: str
    severities: tuple[float, ...]
    makes: str
    looks: str
    checks: tuple[str, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartResult:
    """The condition of one part: score and band [0-100], odds of its four states, faults and findings by weight.

    Attributes
    ----------
    faults : tuple of FaultResult
        Its faults that are more likely there than not, or forbid something, the worst first.
    why : str
        Fault that its state hangs on most; empty where none is likely.
    """

    part: str
    name: str
    component: str
    score: float
    low: float
    high: float
    states: tuple[float, ...]
    state: str
    looked_at: bool
    faults: tuple[FaultResult, ...]
    why: str
    findings: tuple[FindingResult, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentResult:
    """The condition of one component: score and band [0-100], its worst part, and the fault that it hangs on."""

    component: str
    name: str
    score: float
    low: float
    high: float
    worst_part: str
    why: str


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
    faults : tuple of str
        Faults that it answers, the likeliest first; a shared step answers those of the work that brings it.
    because : tuple of str
        Operations of the plan that bring it along.
    with_it : tuple of str
        Operations whose hours and amounts are in this line too: opening further, what must come after.
    pieces : float
        How many pieces a small repair treats; 0 for other work.
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
    faults: tuple[str, ...]
    because: tuple[str, ...]
    with_it: tuple[str, ...]
    pieces: float
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """An if-found line: work that is done only where the open piano shows that it is needed.

    Attributes
    ----------
    option, scope, part, operation, name, plain : str
        Option, scope and part concerned; what is then done.
    faults : tuple of str
        Faults that would call for it.
    large : bool
        A larger remedy: of those of one part only one is ever done.
    seen_when : str
        'visit', or the step of an opening that shows it.
    chance : float
        That it is needed [-].
    if_needed : float
        What the price would then rise by, with tax.
    expected : float
        Chance times rise: what the expected price holds for it. For deciding, never a price to sign.
    rows : tuple of str
    """

    option: str
    scope: str
    part: str
    operation: str
    name: str
    plain: str
    faults: tuple[str, ...]
    large: bool
    seen_when: str
    chance: float
    if_needed: float
    expected: float
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionResult:
    """One way, or one scope of it. Money with tax, in the shop's currency.

    Attributes
    ----------
    option : str
    scope : str
        Id of the scope behind it; 'pays' where none is named; empty for 'retire'.
    fixed_price : float
        What the fixed lines add up to, with tax: the price that is signed.
    most_price : float
        The fixed lines and every if-found line.
    serves : float
        Chance that the piano serves once it is done [-].
    tuned : bool
        It may be tuned once it is done.
    beats_keeping : float
        Share of draws in which it is better than keeping it [-].
    price, value_after, net, cost_per_year, years : Range
        1 in 10, middle, 9 in 10 of the draws.
    expected_price, expected_value, expected_net : float
        Exact means; `expected_price` is for deciding.
    before_tax, tax : float
        What the fixed lines add up to, and the tax on it.
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
    scope: str
    price: Range
    value_after: Range
    net: Range
    cost_per_year: Range
    years: Range
    expected_price: float
    expected_value: float
    expected_net: float
    fixed_price: float
    most_price: float
    before_tax: float
    tax: float
    serves: float
    tuned: bool
    beats_keeping: float
    chance_best: float
    affordable: bool
    over_budget: float
    exchange: bool
    breakdown: dict[str, float]
    plan: dict[str, str]
    treatments: dict[str, str]
    lines: tuple[Line, ...]
    allowances: tuple[Allowance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScopeResult:
    """One scope: how far to go.

    Attributes
    ----------
    scope, verdict, name, plain : str
    offered : bool
    why_not : str
        Rule by which it is not offered: 'leaves_broken', 'gate_fails', 'as_safe', 'as_below', 'near_rebuild'.
    result : OptionResult
    """

    scope: str
    verdict: str
    name: str
    plain: str
    offered: bool
    why_not: str
    result: OptionResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Findings that hardly fit together; it never blocks.

    Attributes
    ----------
    fault, with_fault : str
        The same one twice where its own checks contradict each other.
    checks : tuple of str
        The checks behind it.
    measure : float
        Logarithm of how much less likely they are together than each by itself.
    says : str
    rows : tuple of str
    """

    fault: str
    with_fault: str
    checks: tuple[str, ...]
    measure: float
    says: str
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """One access and the open checks behind it.

    Attributes
    ----------
    access, name : str
    minutes : float
        Opening it and all its open checks that are worth their time [min].
    gain, gain_per_minute : float
        Sum of what its checks are worth, in money.
    checks : tuple of str
        Worth most first.
    """

    access: str
    name: str
    minutes: float
    gain: float
    gain_per_minute: float
    checks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason, as data; worded in `valuation.report.words`.

    Attributes
    ----------
    code : str
        What sort of reason: 'price', 'value_kept', 'playing', 'afterwards', 'heart', 'proceeds', 'replacement',
        'part' or 'stop_rule'.
    speaks_for, over : str
        Option that it favours, and over which.
    weight : float
        By how much, in money. For a part: against the same part sound.
    subject : str
        Part concerned; for a stop rule the fault.
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
        'finished_value', 'hours', 'hourly_rate', 'to_hear', 'horizon', 'budget' or 'fault:' and its id.
    today : float or None
        Today's figure; None for a budget that isn't set, and for faults.
    below, above : float or None
        Nearest turning points; None where the verdict doesn't turn within reach.
    then_below, then_above : str
        Options that are best beyond them.
    name : str
        For a fault: its name.
    state : str
        For a fault: severity that it would have to have.
    chance : float
        For a fault: chance of that severity [-].
    unit : str
    """

    driver: str
    today: float | None
    below: float | None = None
    above: float | None = None
    then_below: str = ""
    then_above: str = ""
    name: str = ""
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
    fault: str
    access: str
    quick: bool
    must: bool
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
    fault: str
    source: str


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
    next_option : str
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

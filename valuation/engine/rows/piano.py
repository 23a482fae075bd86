"""What the tables say of pianos besides their parts: components, features of build, and where rows come from."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import words
from valuation.engine.rows.words import KIND_CHOICES, QUESTIONS
from valuation.facts.columns import column


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceRow:
    """Where figures come from: a publication, or an honest 'common practice' or 'from memory'."""

    id: str = column("short name used in every table's source column")
    kind: str = column(
        "what sort of source",
        choices=("published", "common practice", "from memory", "shop's own estimate", "invented"),
    )
    title: str = column("the publication, or what the mark means")


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentRow:
    """A component: one or more parts that are talked about together."""

    id: str = column("component")
    name: str = column("name shown to people")
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureRow:
    """A feature of build that matters to the value or brings a part of its own."""

    id: str = column("feature")
    name: str = column("name shown to people")
    kinds: str = column("which pianos can have it", choices=KIND_CHOICES)
    value_factor: float = column("value with the feature over value without", above=0, high=3)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceRow:
    """One answer to a question that is the client's alone: how the piano is to look, what stays original."""

    id: str = column("choice")
    question: str = column("which question it answers", choices=QUESTIONS)
    name: str = column("the answer, in a few words")
    plain: str = column("what it means, in the client's words")
    operation: str = column("operation that does it; empty if none of the table does", default="")
    declines: tuple[str, ...] = column(
        "operations that are not done where it is chosen", refers_to="operations", default=()
    )
    feature: str = column("offered to pianos with this feature only", refers_to="features", default="")
    free: bool = column("there is no work in it", default=False)
    source: str = words.source()
    note: str = words.note()

"""Without: a study with some work ruled out beforehand, because the client doesn't want it.

In: a study, operations that are not to be done, parts that are to stay as they are. Out: the study with a catalogue
that lacks that work, so that plans are searched for anew among what is left. What is found doesn't change. What stays
broken at the client's wish bars no scope, a gate apart.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from functools import lru_cache

from valuation.engine.catalogue import Catalogue
from valuation.engine.study import Study


def without(study: Study, operations: Collection[str], parts: Collection[str] = ()) -> Study:
    """Return a study in which some work is never planned.

    A level set by hand that asks for such work no longer holds: the piano is the client's.

    Parameters
    ----------
    operations : collection of str
        Ids of operations that are not to be done.
    parts : collection of str
        Parts to which nothing is to be done.
    """
    if not operations and not parts:
        return study
    left = _less(study.catalogue, frozenset(operations), frozenset(parts))
    set_levels = {
        part: level
        for part, level in study.figures.set_levels.items()
        if level == "keep" or (left.small if level == "repair" else left.large).get(part)
    }
    touched = {row.part for name in operations if (row := study.catalogue.operations.get(name)) is not None}
    return replace(
        study,
        catalogue=left,
        figures=replace(study.figures, set_levels=set_levels),
        let_be=frozenset(parts) | touched,
    )


@lru_cache(maxsize=16)
def _less(catalogue: Catalogue, operations: frozenset[str], parts: frozenset[str]) -> Catalogue:
    def left(remedies: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
        return {
            part: () if part in parts else tuple(name for name in names if name not in operations)
            for part, names in remedies.items()
        }

    return replace(catalogue, small=left(catalogue.small), large=left(catalogue.large))

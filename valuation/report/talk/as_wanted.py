"""The piano with every way as the client wants it: all steps tell of the same plans and the same prices."""

from __future__ import annotations

from dataclasses import dataclass, replace

from valuation.engine.appraisal import Appraisal
from valuation.engine.study import Answer, Study
from valuation.report.case import Case
from valuation.report.conversation import case_of
from valuation.report.quote import Quote
from valuation.report.their_version import TheirVersion, Versions, their_versions
from valuation.report.version_words import version_words
from valuation.report.wishes import Wishes


@dataclass(frozen=True, slots=True, kw_only=True)
class AsWanted:
    """What all steps are told from.

    Attributes
    ----------
    case : Case
        With the ways planned anew by what the client wants; a way that there is not so is not open.
    said : dict of str to tuple of str
        By way, what is to be said of it because of what they want.
    """

    case: Case
    versions: Versions
    said: dict[str, tuple[str, ...]]

    def quote(self, way: str) -> Quote | None:
        """Return the lines and the price of a way, None where the piano goes or there is no such way."""
        version = self.versions.get(way)
        return version.quote if isinstance(version, TheirVersion) else None


def as_wanted(study: Study, answer: Answer, found: Appraisal, wishes: Wishes) -> AsWanted:
    """Return the piano with every way as the client wants it; arguments as for `case_of`."""
    case = case_of(study, answer, found, wishes)
    versions = their_versions(study, answer, wishes)
    made = {way: version for way, version in versions.items() if isinstance(version, TheirVersion)}
    options = [option for option in found.options if option.option not in versions]
    prospects = {
        way: made[way].prospect if way in made else prospect
        for way, prospect in case.prospects.items()
        if way in made or way not in versions
    }
    return AsWanted(
        case=replace(
            case,
            found=replace(found, options=(*options, *(version.option for version in made.values()))),
            prospects=prospects,
        ),
        versions=versions,
        said={way: version_words(version, case) for way, version in versions.items()},
    )

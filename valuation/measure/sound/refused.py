"""The refusal: why a recording, or one figure of it, can't be given."""

from __future__ import annotations

from valuation.errors import Problem, UserError
from valuation.language import later

REASONS = (
    later("unreadable"),
    later("silence"),
    later("noise"),
    later("clipping"),
    later("too short"),
    later("gain control"),
    later("wrong note"),
    later("no note"),
    later("key let go"),
    later("no quiet before"),
    later("little fall"),
    later("uncertain"),
    later("too few"),
)
"""The short words a screen or a test can tell refusals apart by."""


class Refused(UserError):
    """A figure is not given, and why; raised for a whole recording, kept in place of a single figure.

    Parameters
    ----------
    reason : str
        One of `REASONS`.
    sentence : str
        What is wrong and what to do about it, in plain words.
    file : str
        Name of the recording, without its folder.
    """

    def __init__(self, reason: str, sentence: str, file: str = "recording") -> None:
        if reason not in REASONS:
            raise ValueError(f"'{reason}' is not one of the reasons {', '.join(REASONS)}")
        self.reason = reason
        self.sentence = sentence
        self.file = file
        super().__init__([Problem(file, 0, "", sentence)])

    def __reduce__(self) -> tuple:
        """Let a refusal be copied and kept like the figure whose place it takes."""
        return type(self), (self.reason, self.sentence, self.file)

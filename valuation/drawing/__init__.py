"""One drawing of the piano, an upright or a grand, as a picture that every page and paper shows.

Pure: SVG out. Knows the ids of the parts (see ``parts.csv``) and nothing else of the shop's tables; what a part is
called and how it stands comes from whoever asks. Imports `valuation.language` alone.
"""

from __future__ import annotations

from valuation.drawing.draw import NOT_LOOKED_AT, OPTIONAL, PART_STATES, UNSEEN, draw, drawn_parts, in_words

__all__ = ["NOT_LOOKED_AT", "OPTIONAL", "PART_STATES", "UNSEEN", "draw", "drawn_parts", "in_words"]

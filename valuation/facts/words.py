"""The fixed words that facts are told in. The tables' rows speak them too."""

KINDS = ("upright", "grand")
SEVERITIES = ("none", "slight", "marked", "severe")
"""How badly a fault is there."""

GRADES = ("good", "fair", "poor", "failed")
"""How files and histories of older tables name what an answer reads, from none to severe."""

STATES = ("sound", "serviceable", "worn", "failed")
"""What older records tell of a part as a whole."""

SECTIONS = ("bass", "tenor", "treble")
QUESTIONS = ("finish", "sheen", "lettering", "key_tops", "hardware")
LEVELS = ("keep", "repair", "replace")
"""What a plan does to a part, as a word: nothing larger, small repairs, a larger remedy."""

WAYS = ("keep", "partial_repair", "rebuild", "another", "let_go")
"""What can be done with a piano, in the order in which it is told: without work first, whatever the verdict."""

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

IF_FOUND_ANSWERS = ("yes", "no", "not_needed")
"""What became of an if-found line: needed and done, needed and not wanted, not needed."""

MONEY_KINDS = ("deposit", "invoice", "payment", "bought_in")
"""Money of a job: asked for and paid ahead, asked for, paid, and paid to others for bought-in work and carriage."""

RETURN_CAUSES = ("work", "material", "climate", "wear", "else")
"""Why a piano came back: our work, a material, the climate where it stands, use, something else."""

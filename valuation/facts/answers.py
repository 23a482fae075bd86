"""Words that answer any check: it can't be seen, or nobody looked. Neither counts as good."""

CANNOT_SEE = ("can't be seen", "cannot be seen")
NOT_LOOKED_AT = "not looked at"

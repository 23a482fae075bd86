"""What was measured, from the figures typed in to a finding: for the command line and the screens alike.

Each subject (`strings`, `bearing`, `climate`, `pins`, `sound`) is one function that gives a `Reading`: figures with
their uncertainty, what they say, what they don't, and findings graded by the shop's tables.
May import `valuation.measure`, `valuation.files`, `valuation.report` and `valuation.engine`. `sound` alone needs SciPy
and soundfile: whoever needs it imports it.
Must never hold a limit of the trade, nor grade anything itself: cut points come from the row of the check.
"""

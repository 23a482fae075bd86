"""What a few measurements at a visit can tell: physics and counting, in pure functions.

May import the standard library, NumPy and `valuation.facts.units`; SciPy only inside a function that needs it.
The subpackage `sound` also reads recordings, and stands on SciPy and soundfile.
Every function refuses a number that can't be with a `ValueError` that says which, and between what it must lie.
Never holds a limit of the trade: what is too much or too little comes in as an argument, from the shop's tables.
Never turns a figure into a verdict: the tables' cut points grade it like any other check.
"""

"""Texts into checked values: cells, tables, a technician's visit file; and values into texts again.

May import `valuation.facts`, the rows of the tables and `valuation.errors`. Must never guess: a name that is nearly
right is offered, not taken. Every fault is told, at once, with its file, line, column and what to write instead.
"""

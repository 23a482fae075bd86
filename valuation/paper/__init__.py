"""Printed paper: lays out what `valuation.report` says, with typst, as tagged PDF. Knows no trade, works out nothing.

The templates (`*.typ`) hold the layout only: every word and figure comes to them as data.
"""

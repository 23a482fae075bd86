"""How long what is kept: every country has its rows, and the years that law names are those."""

from __future__ import annotations

import re

import pytest

from valuation.files.retention import BASES, COUNTRIES, EVALUATION, INVOICE, ORDER, retention, retentions

BY_LAW = {
    ("de", INVOICE): 8,  # Abgabenordnung § 147(3), Umsatzsteuergesetz § 14b(1), as in force since 2025
    ("de", ORDER): 6,  # Abgabenordnung § 147(1) no. 2, 3, (3); Handelsgesetzbuch § 257
    ("at", ORDER): 7,  # Bundesabgabenordnung § 132(1), Unternehmensgesetzbuch § 212
    ("ch", ORDER): 10,  # Obligationenrecht Art. 958f
    ("uk", ORDER): 6,  # Value Added Tax Act 1994, Schedule 11, paragraph 6
}


@pytest.mark.parametrize("country", COUNTRIES)
@pytest.mark.parametrize("what", [INVOICE, ORDER, EVALUATION])
def test_every_country_has_each_row_once(country, what):
    assert len([row for row in retentions() if (row.country, row.what) == (country, what)]) == 1
    row = retention(country, what)
    assert 0 < row.years <= 30
    assert row.basis in BASES
    assert re.fullmatch(r"20\d\d-(0[1-9]|1[0-2])", row.checked)
    assert bool(row.law) or row.basis == "suggestion"


@pytest.mark.parametrize(("row", "years"), BY_LAW.items())
def test_the_years_are_those_of_the_law(row, years):
    assert retention(*row).years == years
    assert retention(*row).basis == "law"

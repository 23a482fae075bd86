"""Every reader gives what it promises or tells what is wrong, whatever bytes it is given; nothing else comes out."""

from __future__ import annotations

import pytest

from tests.endurance.fuzz_readers import READERS, try_reader

FEW = {"table of checks": 20, "export": 40, "locked export": 10, "sales as a workbook": 60}
"""Files for those readers that take long over each."""


@pytest.mark.parametrize("name", READERS)
def test_a_reader_reads_a_file_or_says_why_not(name):
    examples = FEW.get(name, 150)
    assert try_reader(name, examples) >= examples

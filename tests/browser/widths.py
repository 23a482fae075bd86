"""The widths at which the pages are looked at [px]: a phone's, a tablet's and a desk's."""

from __future__ import annotations

import pytest

on_a_phone = pytest.mark.parametrize("visitor", [390], ids=["phone"], indirect=True)
every_width = pytest.mark.parametrize("visitor", [390, 820, 1280], ids=["phone", "tablet", "desk"], indirect=True)
at_tablet_and_desk = pytest.mark.parametrize("visitor", [820, 1280], ids=["tablet", "desk"], indirect=True)

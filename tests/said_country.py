"""Tables of a shop that has said in which country it works."""

from __future__ import annotations

import shutil
from pathlib import Path

from valuation.rules.load import PACKAGED


def tables_of_a_shop_in(country: str, folder: Path) -> Path:
    """Write the packaged tables into a folder, with the country said as the shop's own; return the folder."""
    shutil.copytree(PACKAGED, folder)
    path = folder / "settings.toml"
    text = path.read_text(encoding="utf-8")
    for setting in ("country", "tax"):
        old = f'[{setting}]\nvalue = "de"\nunit = ""\nsource = "invented"'
        assert old in text
        text = text.replace(old, f'[{setting}]\nvalue = "{country}"\nunit = ""\nsource = "own_estimate"')
    path.write_text(text, encoding="utf-8")
    return folder

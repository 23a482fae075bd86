"""The facts of a workshop: read, or every fault told at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from valuation.errors import UserError
from valuation.files.shop_file import read_shop_facts


def shop(folder: Path, text: str) -> Path:
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_facts_are_read_and_the_rest_is_empty(tmp_path: Path) -> None:
    facts = read_shop_facts(shop(tmp_path, 'name = "Mill Lane pianos"\naddress = ["Mill Lane 4"]\n'))
    assert facts["name"] == "Mill Lane pianos"
    assert facts["address"] == ("Mill Lane 4",)
    assert facts["fee"] == ""
    assert facts["terms"] == ()


def test_a_file_without_keys_is_a_shop_without_facts(tmp_path: Path) -> None:
    assert not any(read_shop_facts(shop(tmp_path, "# nothing yet\n")).values())


def test_every_fault_is_told_with_its_line_and_the_mend(tmp_path: Path) -> None:
    text = 'name = 4\naddress = "Mill Lane"\nreach = ["a\\nb"]\nfees = "none"\n'
    with pytest.raises(UserError) as told:
        read_shop_facts(shop(tmp_path, text))
    lines = str(told.value).splitlines()
    assert len(lines) == 4
    assert "shop.toml:1: name: '4' is not text; write it in quotation marks" in lines
    assert any(line.startswith("shop.toml:2: address: ") and "is not a list of texts" in line for line in lines)
    assert any(line.startswith("shop.toml:3: reach: ") and "line break" in line for line in lines)
    assert any(line.startswith("shop.toml:4: fees: ") for line in lines)


@pytest.mark.parametrize("text", ["", "name = ", 'name = "a"\nname = "b"', "= 4"])
def test_what_is_no_toml_is_told(tmp_path: Path, text: str) -> None:
    with pytest.raises(UserError, match=r"shop\.toml"):
        read_shop_facts(shop(tmp_path, text))

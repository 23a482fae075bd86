"""Whatever happened to an export on its way: it is refused, or it is what it was."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from made_photos import made_photo

from valuation.errors import StoreError
from valuation.service import load_shop
from valuation.service.visits import open_shop
from valuation.service.written import Wanted, make_paper
from valuation.store.zip_in import ZipIn, opened

NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exported")
    shop = open_shop({"VALUATION_DATA": str(folder / "store")}, date(2026, 12, 1), with_demo=False)
    for kind in ("grand", "upright"):
        visit = shop.start_visit({"piano.kind": kind}, who="", device="", now=NOW)
        shop.add_photo(visit, made_photo(size=(32, 24)), name="x.jpg", who="", device="", now=NOW)
    make_paper(shop, visit, Wanted(what="summary"), load_shop(), request="a" * 32, who="", now=NOW, today=NOW.date())
    shop.export_zip(folder / "shop.zip", now=NOW)
    shop.close()
    return folder / "shop.zip"


def all_of(file: ZipIn) -> tuple:
    return (
        [file.visit(name) for name in file.visits],
        [file.photo(name) for name in file.photos],
        [file.paper(name) for name in file.papers],
        [file.tables_files(name) for name in file.tables],
        file.settings,
    )


@settings(max_examples=300, deadline=None)
@given(at=st.floats(0, 1), junk=st.binary(min_size=1, max_size=6), removed=st.integers(0, 6))
@example(at=0.0, junk=b"PK", removed=2)
def test_a_changed_stretch_is_refused_or_changes_nothing_that_is_taken_in(exported, at, junk, removed):
    whole = exported.read_bytes()
    start = int(at * len(whole))
    changed = exported.with_name("changed.zip")
    changed.write_bytes(whole[:start] + junk + whole[start + removed :])
    with opened(exported) as file:
        before = all_of(file)
    try:
        with opened(changed) as file:
            after = all_of(file)
    except StoreError as refused:
        assert refused.problems  # noqa: PT017  (either way is right; nothing else may be raised)
        return
    assert after == before


@settings(max_examples=100, deadline=None)
@given(junk=st.binary(max_size=200))
def test_any_bytes_at_all_are_refused_as_a_fault_of_the_file(exported, junk):
    path = exported.with_name("junk.zip")
    path.write_bytes(junk)
    with pytest.raises(StoreError, match=r"^junk\.zip: "), opened(path):
        pass

import io
import logging
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from valuation.access.log_privacy import keep_people_out_of_logs
from valuation.store import open_store

NAME = "".join(("Lind", "ner"))  # so that no line of this file holds it


@pytest.fixture
def log() -> Iterator[tuple[logging.Logger, io.StringIO]]:
    before, written = logging.getLogRecordFactory(), io.StringIO()
    logger, handler = logging.getLogger("of.the.tests"), logging.StreamHandler(written)
    logger.addHandler(handler)
    logger.propagate = False
    keep_people_out_of_logs()
    yield logger, written
    logging.setLogRecordFactory(before)
    logger.removeHandler(handler)


def fail(name: str) -> None:
    try:
        int(name)
    except ValueError as first:
        raise KeyError(name) from first


def test_a_fault_is_told_by_its_place_and_kind_without_its_words(log):
    logger, written = log
    try:
        fail(NAME)
    except KeyError:
        logger.exception("a page could not be drawn")
    told = written.getvalue()
    assert NAME not in told
    assert "a page could not be drawn" in told
    assert "builtins.ValueError" in told
    assert "led to" in told
    assert f'{Path(__file__).name}", line' in told


def test_nor_does_an_exception_that_is_put_into_a_message(log):
    logger, written = log
    logger.warning("could not: %s", ValueError(NAME))
    assert written.getvalue() == "could not: ValueError\n"


def test_a_fault_of_the_database_does_not_tell_what_was_to_be_stored(tmp_path):
    store = open_store(folder=tmp_path)
    with pytest.raises(DBAPIError) as fault, store.writing() as connection:
        connection.execute(text("INSERT INTO nowhere (a) VALUES (:a)"), {"a": NAME})
    store.close()
    assert isinstance(fault.value.orig, sqlite3.OperationalError)
    assert NAME not in str(fault.value)

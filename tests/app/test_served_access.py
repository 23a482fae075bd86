"""The page as it is really served: what a foreign web site, and whoever was not let in, can get of it."""

from __future__ import annotations

import socket
from collections.abc import Iterator

import httpx
import pytest
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect

from tests.served import Served


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with Served({"VALUATION_DATA": str(tmp_path_factory.mktemp("served")), "DATABASE_URL": ""}) as served:
        yield served


def ask(served: Served, path: str, method: str = "GET", **headers: str) -> httpx.Response:
    """Ask with exactly these headers, as a browser that was led astray would."""
    return httpx.request(method, served.address + path, headers=headers, timeout=20)


def websocket_status(served: Served, host: str = "", **headers: str) -> int:
    """Status with which the server answers whoever wants a WebSocket; 101 is a yes."""
    asked = f"ws://{host or served.host}/_stcore/stream"
    line = socket.create_connection(("127.0.0.1", served.port), timeout=20)
    try:
        with connect(asked, sock=line, additional_headers=headers, open_timeout=20) as opened:
            return opened.response.status_code
    except InvalidStatus as refused:
        return refused.response.status_code


@pytest.mark.parametrize("path", ["/", "/jobs", "/_stcore/host-config", "/_stcore/health", "/media/x"])
def test_a_name_that_points_to_this_machine_from_elsewhere_gets_nothing(served, path):
    assert ask(served, path, Host=f"evil.example:{served.port}").status_code == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "http://127.0.0.1:1", "null"])
def test_a_foreign_page_gets_nothing_either(served, origin):
    assert ask(served, "/", Origin=origin).status_code == 403


def test_no_websocket_is_opened_by_a_foreign_name_or_for_a_foreign_page(served):
    evil = f"evil.example:{served.port}"
    assert websocket_status(served, Origin=served.address) == 101
    assert websocket_status(served, evil, Origin=f"http://{evil}") == 403
    assert websocket_status(served, Origin="http://evil.example") == 403
    assert websocket_status(served, Origin="http://localhost:1") == 403

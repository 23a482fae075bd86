"""The page as it is really served: what a foreign web site, and whoever was not let in, can get of it."""

from __future__ import annotations

import socket
from collections.abc import Iterator

import httpx2
import pytest
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect

from tests.served import Served, entrance


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with Served({"VALUATION_DATA": str(tmp_path_factory.mktemp("served")), "DATABASE_URL": ""}) as served:
        yield served


@pytest.fixture(scope="module")
def cookie(served: Served) -> str:
    """What a browser keeps that was let in."""
    return httpx2.get(entrance(served.address)).headers["set-cookie"].partition(";")[0]


def ask(served: Served, path: str, method: str = "GET", **headers: str) -> httpx2.Response:
    """Ask with exactly these headers, as a browser that was led astray would."""
    return httpx2.request(method, served.address + path, headers=headers, timeout=20)


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
def test_a_name_that_points_to_this_machine_from_elsewhere_gets_nothing(served, cookie, path):
    assert ask(served, path, Host=f"evil.example:{served.port}", Cookie=cookie).status_code == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "http://127.0.0.1:1", "null"])
def test_a_foreign_page_gets_nothing_either(served, cookie, origin):
    assert ask(served, "/", Origin=origin, Cookie=cookie).status_code == 403


def test_no_websocket_is_opened_by_a_foreign_name_or_for_a_foreign_page(served, cookie):
    evil = f"evil.example:{served.port}"
    assert websocket_status(served, Origin=served.address, Cookie=cookie) == 101
    assert websocket_status(served, evil, Origin=f"http://{evil}", Cookie=cookie) == 403
    assert websocket_status(served, Origin="http://evil.example", Cookie=cookie) == 403
    assert websocket_status(served, Origin="http://localhost:1", Cookie=cookie) == 403


@pytest.mark.parametrize("made_up", ["", "valuation-{port}=" + "A" * 43, "_streamlit_user=made|up"])
def test_who_was_not_let_in_gets_neither_page_nor_websocket_nor_upload(served, made_up):
    cookie = made_up.format(port=served.port)
    assert ask(served, "/", Cookie=cookie).status_code == 401
    assert ask(served, "/_stcore/host-config", Cookie=cookie).status_code == 401
    assert ask(served, "/static/index.html", Cookie=cookie).status_code == 401
    assert ask(served, "/_stcore/upload_file/x/y", "PUT", Cookie=cookie).status_code == 401
    assert websocket_status(served, Origin=served.address, Cookie=cookie) == 403


def test_who_was_let_in_gets_the_page_and_a_cookie_that_was_ended_is_good_no_more(served):
    theirs = httpx2.get(entrance(served.address)).headers["set-cookie"].partition(";")[0]
    page = ask(served, "/", Cookie=theirs)
    assert (page.status_code, "<title>" in page.text) == (200, True)
    assert ask(served, "/auth/logout", Cookie=theirs).status_code == 303
    assert ask(served, "/", Cookie=theirs).status_code == 401
    assert websocket_status(served, Origin=served.address, Cookie=theirs) == 403


def test_the_page_can_not_be_shown_in_a_frame_and_tells_no_figures_of_itself(served, cookie):
    page = ask(served, "/", Cookie=cookie)
    assert "frame-ancestors 'none'" in page.headers["content-security-policy"]
    assert page.headers["x-frame-options"] == "DENY"
    assert ask(served, "/_stcore/metrics", Cookie=cookie).status_code == 404


@pytest.mark.parametrize(
    ("options", "secrets", "fault"),
    [
        (("--server.address=0.0.0.0",), "", "server.address: the tool was started for the whole network"),
        ((), "[auth]\nclient_id = 'x'\n", "secrets.toml: auth.redirect_uri: it is missing"),
        ((), "[auth\n", "secrets.toml: it can't be read as TOML"),
    ],
    ids=["for the network without a sign-in", "half a sign-in", "no TOML"],
)
def test_a_server_set_up_wrongly_lets_nobody_in_and_says_why_where_it_was_started(tmp_path, options, secrets, fault):
    file, log = tmp_path / "secrets.toml", tmp_path / "log"
    file.write_text(secrets, encoding="utf-8")
    environ = {"VALUATION_DATA": str(tmp_path / "data"), "DATABASE_URL": ""}
    with Served(environ, options=(*options, f"--secrets.files={file}"), log=log) as served:
        refused = httpx2.get(entrance(served.address), headers={"Accept": "text/html"})
        assert (refused.status_code, "Nobody is let in" in refused.text) == (403, True)
        assert websocket_status(served, Origin=served.address) == 403
    assert fault in log.read_text(encoding="utf-8")

from collections.abc import Callable
from pathlib import Path
from queue import Queue

import pytest
import streamlit as st

from valuation.access.hosts import LOCAL
from valuation.access.setup import Setup, setup_of_this_server
from valuation.access.start import entrance, tell_the_start

AUTH = {
    "redirect_uri": "https://pianos.example/oauth2callback",
    "cookie_secret": "a secret of these tests, long enough",
    "client_id": "of the tests",
    "client_secret": "the secret of the client",
    "server_metadata_url": "https://provider.invalid/.well-known/openid-configuration",
}
ACCESS = {"owners": ["anna@shop.example"]}


@pytest.fixture
def setup(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Setup]:
    """A function that reads the setup of a server with these options, secrets and environment."""

    def read(secrets: dict | None = None, token: str = "", **options: object) -> Setup:
        usual = {"address": "127.0.0.1", "port": 8501, "allowedHosts": list(LOCAL), "baseUrlPath": "",
                 "sslCertFile": None, "headless": True}  # fmt: skip
        given = {f"server.{name}": value for name, value in (usual | options).items()}
        monkeypatch.setattr(st, "get_option", given.__getitem__)
        monkeypatch.setattr(st, "secrets", secrets or {})
        return setup_of_this_server({"VALUATION_DATA": str(tmp_path), "VALUATION_TOKEN": token})

    return read


def told(setup: Setup) -> str:
    return "\n".join(str(problem) for problem in setup.faults)


def test_at_a_machine_of_one_s_own_each_start_has_a_token_of_its_own(setup):
    first, second = setup(), setup()
    assert first.token != second.token
    assert len(first.token) >= 43
    assert first.token not in repr(first)
    assert entrance(first) == f"http://127.0.0.1:8501/?token={first.token}"


def test_a_token_may_be_given_if_it_is_long_enough(setup):
    assert setup(token=" a token of the tests, long enough ").token == "a token of the tests, long enough"
    assert "VALUATION_TOKEN: it is too short; write at least 32" in told(setup(token="short"))


@pytest.mark.parametrize("address", ["0.0.0.0", "192.168.1.5", "", None])
def test_over_a_network_nobody_is_let_in_without_a_sign_in(setup, address):
    found = setup(address=address)
    assert found.token == ""
    assert "server.address: the tool was started for the whole network" in told(found)


def test_with_a_sign_in_there_is_no_token_and_the_page_is_where_the_provider_sends_back(setup):
    found = setup({"auth": AUTH, "access": ACCESS}, token="a token of the tests, long enough", address="0.0.0.0")
    assert (found.token, found.faults, found.secure) == ("", (), True)
    assert entrance(found) == "https://pianos.example/"
    assert found.names.lets_speak("https://pianos.example", "127.0.0.1:8501")

    assert not [one for one in (AUTH["cookie_secret"], AUTH["client_secret"]) if one in repr(found)]


@pytest.mark.parametrize(
    ("secrets", "fault"),
    [
        ({"auth": AUTH}, "access.owners: name at least one address"),
        ({"auth": {**AUTH, "client_id": ""}, "access": ACCESS}, "auth.client_id: it is missing"),
        ({"auth": {**AUTH, "cookie_secret": "short"}, "access": ACCESS}, "auth.cookie_secret: write at least 32"),
        ({"auth": {**AUTH, "redirect_uri": "pianos.example"}, "access": ACCESS}, "auth.redirect_uri: write it like"),
        ({"auth": "all"}, "secrets.toml: auth: write it as a section"),
        ({"auth": AUTH, "access": ["anna@shop.example"]}, "secrets.toml: access: write it as a section"),
        ({"auth": {**AUTH, "redirect_uri": 3}, "access": {"owners": 3}}, "access.owners: write a list of addresses"),
    ],
)
def test_a_sign_in_that_is_set_up_wrongly_lets_nobody_in_not_even_by_a_token(setup, secrets, fault, capsys):
    found = setup(secrets, token="a token of the tests, long enough")
    assert (found.token, found.provider) == ("", None)
    assert fault in told(found)
    tell_the_start(found)
    assert fault in capsys.readouterr().err


def test_the_start_says_which_address_lets_in(setup, capsys):
    found = setup(baseUrlPath="/pianos/", address="::1", port=9000)
    tell_the_start(found)
    assert f"http://[::1]:9000/pianos/?token={found.token}\n" in capsys.readouterr().out
    assert found.cookie == "valuation-9000"


def test_the_page_is_opened_where_there_is_a_screen(setup, monkeypatch):
    opened = Queue()
    monkeypatch.setattr("valuation.access.start.webbrowser.open", opened.put)
    found = setup(headless=False)
    tell_the_start(found)
    assert opened.get(timeout=20) == entrance(found)
    tell_the_start(setup(headless=True))
    assert opened.empty()

import asyncio
import json
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from urllib.parse import urlencode

import pytest
from starlette.websockets import WebSocketDisconnect

from tests.unit.access.conftest import ADDRESS, TOKEN
from valuation.access.accounts import Accounts
from valuation.access.hosts import own_names
from valuation.access.setup import Provider
from valuation.errors import Problem

STREAM = "ws://localhost:8501/_stcore/stream"
SHOP = Accounts(owners=frozenset({"anna@shop.example"}), people=frozenset({"@shop.example"}))
PROVIDER = Provider(
    redirect_uri="https://localhost:8501/oauth2callback",
    cookie_secret="a secret of these tests, long enough",
    client_id="of the tests",
    client_secret="of the tests",
    server_metadata_url="https://provider.invalid/.well-known/openid-configuration",
)


def let_in(client, path="/"):
    came = client.get(f"{path}{'&' if '?' in path else '?'}{urlencode({'token': TOKEN})}")
    assert came.status_code == 303
    return came


def come_in(client, sessions, email, name="", days=1):
    """Bring a browser in as if it had signed in."""
    secret, session = sessions.begin(now=datetime.now(UTC), days=days, email=email, name=name)
    client.cookies.set(client.app.setup.cookie, secret)
    return session


# --- names and pages


@pytest.mark.parametrize("headers", [{"Host": "evil.example"}, {"Host": ""}, {"Host": "localhost:8501@evil.example"}])
def test_a_foreign_name_gets_nothing_even_with_the_token(client, headers):
    let_in(client)
    assert client.get("/", headers=headers).status_code == 421
    assert client.get("/_stcore/health", headers=headers).status_code == 421
    assert client.get("/", params={"token": TOKEN}, headers=headers).status_code == 421


def test_a_request_with_two_names_is_refused(client):
    let_in(client)
    assert client.get("/", headers=[("Host", "localhost:8501"), ("Host", "evil.example")]).status_code == 421


def test_a_foreign_page_gets_nothing_even_where_the_browser_sends_the_cookie_along(client):
    let_in(client)
    assert client.post("/", headers={"Origin": "http://evil.example"}).status_code == 403
    assert client.post("/", headers={"Origin": "http://localhost:9000"}).status_code == 403
    assert client.post("/", headers={"Origin": ADDRESS}).status_code == 200


@pytest.mark.parametrize("headers", [{"Host": "evil.example"}, {"Origin": "http://evil.example"}])
def test_nor_does_a_websocket(client, headers):
    let_in(client)
    with client.websocket_connect(STREAM, headers={"Origin": ADDRESS}):
        pass
    with pytest.raises(WebSocketDisconnect), client.websocket_connect(STREAM, headers=headers):
        pass


# --- the token


def test_without_the_token_nothing_comes_through(client):
    asked = client.get("/")
    assert (asked.status_code, "Address or token" in asked.text) == (403, True)
    assert client.get("/jobs", headers={"Accept": "*/*"}).status_code == 401
    assert client.put("/_stcore/upload_file/a/b", content=b"x" * 1000).status_code == 401
    with pytest.raises(WebSocketDisconnect), client.websocket_connect(STREAM):
        pass


def test_an_upload_of_somebody_who_is_not_in_is_not_even_read(client):
    sent = []

    async def receive():
        raise AssertionError("the body was read")

    async def send(message):
        sent.append(message)

    headers = [(b"host", b"localhost:8501"), (b"transfer-encoding", b"chunked")]
    asked = {"type": "http", "method": "PUT", "path": "/_stcore/upload_file/a/b", "headers": headers}
    whole = asked | {"query_string": b"", "client": ("127.0.0.1", 9)}
    with ThreadPoolExecutor() as pool:  # the browser tests leave a loop running in this thread
        pool.submit(asyncio.run, client.app(whole, receive, send)).result()
    assert sent[0]["status"] == 401
    assert client.put("/walk/api/photo", content=b"x").json() == {"path": "/walk/api/photo", "read": 1}


def test_the_address_of_the_start_lets_in_and_the_token_does_not_stay_in_the_address(client):
    came = let_in(client, "/jobs?visit=1")
    assert came.headers["location"] == "/jobs?visit=1"
    assert TOKEN not in str(came.headers)
    assert {"HttpOnly", "SameSite=lax", "Path=/"} <= set(came.headers["set-cookie"].split("; "))
    assert client.get("/jobs").json()["path"] == "/jobs"


def test_the_whole_address_may_be_pasted_in_place_of_the_token(client):
    asked = client.get("/jobs?visit=1")
    assert '<form method="get"><input type="hidden" name="visit" value="1">' in asked.text
    pasted = f" http://127.0.0.1:8501/?{urlencode({'token': TOKEN})} "
    came = client.get("/jobs", params={"visit": "1", "token": pasted})
    assert (came.status_code, came.headers["location"]) == (303, "/jobs?visit=1")


def test_coming_in_again_begins_no_second_session(client, sessions):
    let_in(client)
    assert "set-cookie" not in let_in(client).headers
    assert len(sessions.all(datetime.now(UTC))) == 1


def test_a_wrong_token_lets_nobody_in_and_after_some_one_has_to_wait(client):
    for _ in range(20):
        assert client.get("/", params={"token": TOKEN + "x"}).status_code == 403
    waiting = client.get("/", params={"token": TOKEN})
    assert (waiting.status_code, waiting.headers["retry-after"]) == (429, "60")


def test_the_token_leads_to_no_other_server(client):
    assert let_in(client, "//evil.example/").headers["location"] == "/"


def test_a_made_up_or_ended_cookie_lets_nobody_in(client, sessions):
    client.cookies.set(client.app.setup.cookie, "A" * 43)
    assert client.get("/").status_code == 403
    client.cookies.clear()
    let_in(client)
    kept = client.cookies.get(client.app.setup.cookie)
    out = client.get("/auth/logout")
    assert (out.status_code, sessions.all(datetime.now(UTC))) == (303, [])
    client.cookies.set(client.app.setup.cookie, kept)
    assert client.get("/").status_code == 403


def test_a_link_on_a_foreign_page_signs_nobody_out(client):
    let_in(client)
    client.get("/auth/logout", headers={"Sec-Fetch-Site": "cross-site"})
    assert client.get("/").status_code == 200


def test_a_store_that_can_not_be_written_is_told_to_whoever_has_the_token(served, sessions):
    sessions.folder.parent.parent.mkdir(exist_ok=True)
    sessions.folder.parent.write_text("a file where a folder should be", encoding="utf-8")
    answer = served().get("/", params={"token": TOKEN})
    assert answer.status_code == 503
    assert "see that the folder is there" in answer.text


def test_the_open_page_is_closed_when_its_session_is_ended(client, sessions):
    let_in(client)
    with client.websocket_connect(STREAM, headers={"Origin": ADDRESS}) as page:
        page.send_text("a tap")
        page.receive_text()
        (session,) = sessions.all(datetime.now(UTC))
        sessions.end(session.id)
        page.send_text("another tap")
        with pytest.raises(WebSocketDisconnect):
            page.receive_text()


# --- people


def test_the_page_learns_who_it_is_from_here_and_not_from_the_browser(served, sessions):
    client = served(token="", provider=PROVIDER, accounts=SHOP)
    session = come_in(client, sessions, "ben@shop.example", "Bén Ł.")
    made_up = {"X-Valuation-Role": "owner", "x-valuation-email": "anna@shop.example"}
    with client.websocket_connect(STREAM, headers=made_up) as page:
        page.send_text("who am I?")
        told = json.loads(page.receive_text())
    assert told == [["B%C3%A9n%20%C5%81."], ["ben%40shop.example"], ["technician"], [session.id]]


def test_who_is_no_longer_on_the_list_is_out_though_the_session_is_open(served, sessions):
    client = served(token="", provider=PROVIDER, accounts=SHOP)
    come_in(client, sessions, "cleo@elsewhere.example")
    assert client.get("/").status_code == 401
    with pytest.raises(WebSocketDisconnect), client.websocket_connect(STREAM):
        pass


def test_who_came_in_by_a_token_is_out_once_people_sign_in_and_the_other_way_round(served, sessions):
    client = served(token="", provider=PROVIDER, accounts=SHOP)
    come_in(client, sessions, "")
    assert client.get("/").status_code == 401
    assert client.get("/", params={"token": ""}).status_code == 401
    client = served()
    come_in(client, sessions, "anna@shop.example")
    assert client.get("/").status_code == 403


def test_the_page_to_sign_in_keeps_where_one_wanted_to_go(served):
    client = served(token="", provider=PROVIDER, accounts=SHOP)
    asked = client.get("/jobs?visit=1", headers={"Accept-Language": "de-AT,en;q=0.5"})
    assert 'href="/sign-in?to=%2Fjobs%3Fvisit%3D1"' in asked.text
    assert '<html lang="de">' in asked.text
    assert "Anmelden" in asked.text


def test_where_the_setup_has_a_fault_nobody_is_let_in_and_the_fault_stays_in_the_log(served, sessions):
    client = served(faults=(Problem("secrets.toml", 0, "access.owners", "name at least one address"),))
    come_in(client, sessions, "")
    asked = client.get("/", params={"token": TOKEN})
    assert asked.status_code == 403
    assert "owners" not in asked.text
    assert client.get("/_stcore/health").status_code == 200


# --- what every answer forbids


def test_health_is_told_to_anybody_and_metrics_to_nobody(client):
    assert client.get("/_stcore/health").status_code == 200
    let_in(client)
    assert client.get("/_stcore/metrics").status_code == 404


def test_every_answer_forbids_frames_and_guessing(client):
    refused, came = client.get("/"), let_in(client)
    for answer in (refused, came, client.get("/"), client.get("/x", headers={"Host": "evil.example"})):
        assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
        assert answer.headers["x-frame-options"] == "DENY"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "same-origin"
        assert "strict-transport-security" not in answer.headers
    policy = client.get("/").headers["content-security-policy"]
    assert "script-src 'self' 'sha256-" in policy
    assert "unsafe-eval" not in policy
    assert "unsafe-inline" not in policy.partition("script-src")[2].partition(";")[0]


def test_a_route_that_has_a_policy_of_its_own_keeps_it(client):
    headers = client.get("/walk/own").headers
    assert headers["content-security-policy"] == "default-src 'none'; frame-ancestors 'self'"
    assert "x-frame-options" not in headers


def test_over_https_the_cookie_goes_by_https_alone_and_so_do_all_later_requests(served):
    client = served(address="https://pianos.example", names=own_names(["localhost"], "https://pianos.example"))
    came = client.get("/", params={"token": TOKEN})
    assert came.headers["set-cookie"].startswith("__Secure-valuation=")
    assert "Secure" in came.headers["set-cookie"].split("; ")
    assert "max-age=31536000" in came.headers["strict-transport-security"]


def test_below_a_path_of_its_own_the_door_stands_there_too(served):
    client = served(base="/pianos")
    assert client.get("/pianos/_stcore/metrics").status_code == 404
    came = client.get("/pianos/jobs", params={"token": TOKEN})
    assert "Path=/pianos" in came.headers["set-cookie"]
    assert came.headers["location"] == "/pianos/jobs"

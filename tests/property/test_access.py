"""Whatever a stranger sends: no answer but yes or no, and no way to another server."""

from __future__ import annotations

from urllib.parse import urljoin, urlsplit

from hypothesis import example, given
from hypothesis import strategies as st

from valuation.access.accounts import Accounts, read_accounts
from valuation.access.hosts import LOCAL, Names, host_name, inner_path
from valuation.access.openid import verified_email
from valuation.errors import UserError

URLISH = st.text(alphabet="ahtps:/\\@.[]?#%0\t\n\x00 é", max_size=40) | st.text(max_size=40)
SHOP = Accounts(owners=frozenset({"anna@shop.example"}), people=frozenset({"@shop.example"}))
JSONISH = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@given(URLISH)
def test_only_a_name_of_this_machine_is_answered(host):
    assert Names().answers_to(host) == (host_name(host) in LOCAL)


@given(URLISH, URLISH)
@example("http://[", "localhost:8501")
def test_only_the_same_host_may_ask(origin, host):
    if Names().lets_speak(origin, host):
        assert urlsplit(origin).netloc.casefold() == host.casefold()


@given(URLISH)
@example("/\t/evil.example")
@example("/%09/evil.example")
def test_every_path_to_go_back_to_stays_on_this_server(asked):
    assert urlsplit(urljoin("https://pianos.example/x", inner_path(asked))).netloc == "pianos.example"


@given(st.text(max_size=60))
def test_whoever_is_let_in_has_an_address_of_the_shop(email):
    if SHOP.role_of(email) is not None:
        assert email.strip().casefold().endswith("@shop.example")


@given(st.dictionaries(st.sampled_from(["owners", "people", "days", "other"]), JSONISH))
def test_any_list_is_read_or_its_faults_are_told(section):
    try:
        accounts = read_accounts(section)
    except UserError:
        return  # tests/unit/access/test_accounts.py looks at what is told
    assert accounts.owners
    assert 1 <= accounts.days <= 90


@given(st.dictionaries(st.sampled_from(["email", "email_verified", "sub", "name"]), JSONISH))
def test_no_claims_make_an_address_that_nobody_verified(claims):
    found = verified_email(claims)
    assert not found or claims["email_verified"] in (True, "true")

import pytest

from valuation.access.accounts import Accounts, Role, read_accounts
from valuation.errors import UserError

SHOP = Accounts(owners=frozenset({"anna@shop.example"}), people=frozenset({"ben@mail.example", "@shop.example"}))


def test_the_list_is_read_without_regard_to_capitals():
    given = {"owners": ["Anna@Shop.example"], "people": ["@SHOP.example ", "ben@mail.example"], "days": 30}
    assert read_accounts(given) == Accounts(owners=SHOP.owners, people=SHOP.people, days=30)


@pytest.mark.parametrize(
    ("email", "role"),
    [
        ("anna@shop.example", Role.OWNER),
        (" ANNA@shop.example", Role.OWNER),
        ("cleo@shop.example", Role.TECHNICIAN),
        ("ben@mail.example", Role.TECHNICIAN),
        ("cleo@mail.example", None),
        ("cleo@sub.shop.example", None),
        ("cleo@eshop.example", None),
        ("shop.example@evil.example", None),
        ("anna@shop.example@evil.example", None),
        ("anna@shop.example evil", None),
        ("@shop.example", None),
        ("", None),
    ],
)
def test_only_who_is_on_the_list_has_a_role(email, role):
    assert SHOP.role_of(email) == role


@pytest.mark.parametrize(
    ("section", "told"),
    [
        ({}, "access.owners: name at least one address"),
        ({"owners": []}, "access.owners: name at least one address"),
        ({"owners": "anna@shop.example"}, "access.owners: write a list of addresses"),
        ({"owners": ["@shop.example"]}, "access.owners: '@shop.example' is no e-mail address"),
        (
            {"owners": ["a@b.example"], "people": ["shop.example"]},
            "access.people: 'shop.example' is no e-mail address or",
        ),
        ({"owners": ["a@b.example"], "people": [1]}, "access.people: write a list"),
        ({"owners": ["a@b.example"], "days": 0}, "access.days: write a whole number of days from 1 to 90"),
        ({"owners": ["a@b.example"], "days": True}, "access.days: write a whole number"),
        ({"owners": ["a@b.example"], "poeple": []}, "access.poeple: there is no such key"),
    ],
)
def test_a_list_that_can_not_be_meant_lets_nobody_in_and_says_what_to_mend(section, told):
    with pytest.raises(UserError) as fault:
        read_accounts(section)
    assert told in str(fault.value)
    assert str(fault.value).startswith("secrets.toml: ")

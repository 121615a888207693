"""A group's file: who may do what, and every way in which it can be wrong."""

import pytest

from fleet.errors import BadInput
from fleet.flow.access import Person, person_of, read_group

GOOD = """
[auth]
redirect_uri = "http://192.168.7.20:8501/oauth2callback"
cookie_secret = "0123456789abcdef0123456789abcdef"
client_id = "fleet"
client_secret = "kept by the provider"
server_metadata_url = "https://id.example.org/.well-known/openid-configuration"

[network]
address = "192.168.7.20"
port = 8501

[people]
"Odile@Example.org" = "manage"
"pim@example.org" = "log"
"joren@example.org" = "read"
"""


@pytest.fixture
def group_file(tmp_path):
    def written(text=GOOD):
        file = tmp_path / "group.toml"
        file.write_text(text, encoding="utf-8")
        return file

    return written


def test_roles_by_verified_address(group_file):
    group = read_group(group_file())
    assert (group.address, group.port) == ("192.168.7.20", 8501)

    def role(address, **more):
        return person_of(group, {"email": address, "email_verified": True, **more}).role

    assert role("odile@example.org") == "manage"
    assert role("PIM@example.org ") == "log"
    assert role("wilf@example.org") is None  # nobody has a role by default
    assert role("odile@example.org", email_verified=False) is None
    assert person_of(group, {"email": "odile@example.org"}).role is None  # not said: not verified
    assert person_of(group, {"email": "odile@example.org", "email_verified": "true"}).role is None
    assert person_of(group, {"sub": "x", "email_verified": True}) == Person(name="x", role=None)


@pytest.mark.parametrize(
    ("role", "may"),
    [
        (None, []),
        ("read", ["read"]),
        ("log", ["read", "log"]),
        ("manage", ["read", "log", "manage"]),
    ],
)
def test_a_role_covers_those_below_it(role, may):
    who = Person(name="x", role=role)
    assert [wanted for wanted in ("read", "log", "manage") if who.may(wanted)] == may


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (("[people]", "[persons]"), r"has no \[people\]"),
        (('"log"', '"admin"'), "has the role 'admin'; the roles are read, log, manage"),
        (("client_id", "client_name"), r"\[auth\] has no client_id"),
        (("0123456789abcdef0123456789abcdef", "short"), "cookie_secret is shorter than 32"),
        (("/oauth2callback", "/"), "must end with /oauth2callback"),
        (('"192.168.7.20"', '"0.0.0.0"'), "reaches beyond your own network"),
        (('"192.168.7.20"', '"8.8.8.8"'), "reaches beyond your own network"),
        (('"192.168.7.20"', '"the shop"'), "give this machine's number"),
        (("port = 8501", "port = 0"), "give 1 to 65535"),
        (("port = 8501", "port = true"), "give 1 to 65535"),
        (("[network]", "[network"), "is not TOML"),
        (
            ('"joren@example.org" = "read"', '"PIM@example.org" = "read"'),
            "is there twice with different roles",
        ),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence(group_file, change, sentence):
    assert GOOD.count(change[0]) >= 1
    with pytest.raises(BadInput, match=sentence) as found:
        read_group(group_file(GOOD.replace(*change)))
    assert "\n" not in str(found.value)


def test_no_file_and_nobody(tmp_path, group_file):
    with pytest.raises(BadInput, match="there is no file"):
        read_group(tmp_path / "none.toml")
    with pytest.raises(BadInput, match="nobody could enter"):
        read_group(group_file(GOOD[: GOOD.index('"Odile')]))

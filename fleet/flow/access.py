"""Who may do what on a dashboard that a group shares: one file, read anew at every look.

The file is TOML. `[auth]` is what the page library needs to sign people in through OpenID Connect
(redirect_uri, cookie_secret, client_id, client_secret, server_metadata_url); `[network]` says
where to serve; `[people]` gives a role to each address of electronic mail:

    [network]
    address = "192.168.7.20"
    port = 8501

    [people]
    "odile@example.org" = "manage"
    "pim@example.org" = "log"

Nobody has a role by default.
"""

import ipaddress
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, get_args
from urllib.parse import urlsplit

from fleet.errors import BadInput

Role = Literal["read", "log", "manage"]
ROLES: tuple[Role, ...] = get_args(Role)

_NEEDED = ("redirect_uri", "cookie_secret", "client_id", "client_secret", "server_metadata_url")
_SHORTEST_SECRET = 32  # characters; a shorter one could be guessed, and with it anybody's cookie


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Where a group's dashboard is served, and the role of each person by address, in small
    letters. `redirect_uri` is where the sign-in comes back to.
    """

    address: str
    port: int | None
    people: Mapping[str, Role]
    redirect_uri: str

    @property
    def host(self) -> str:
        """The name under which people reach it: that of a proxy where one stands in front."""
        return urlsplit(self.redirect_uri).hostname or self.address


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody at the pages: the name that goes into records, and the role (None: none given)."""

    name: str
    role: Role | None

    def may(self, wanted: Role) -> bool:
        """Whether the role covers `wanted`: manage covers log, log covers read."""
        return self.role is not None and ROLES.index(self.role) >= ROLES.index(wanted)


def read_group(path: Path) -> Group:
    """The group of a file. Raises BadInput with one sentence for what it lacks or has wrong."""
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise BadInput(f"there is no file {path}; README says what a group's file holds") from None
    except UnicodeDecodeError:
        raise BadInput(f"{path} is not UTF-8 text; save it as UTF-8") from None
    try:
        said = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(f"{path} is not TOML: {error}; correct that place") from None
    _check_sign_in(path, said)
    network = _table(path, said, "network")
    return Group(
        address=_address(path, network),
        port=_port(path, network),
        people=_people(path, said),
        redirect_uri=said["auth"]["redirect_uri"],
    )


def person_of(group: Group, claims: Mapping[str, Any]) -> Person:
    """The person behind the claims of an identity token.

    Only an address that the provider says it has verified counts: anybody can claim another's.
    """
    address = str(claims.get("email") or "").strip().casefold()
    verified = claims.get("email_verified") is True
    name = address or str(claims.get("name") or claims.get("sub") or "somebody without a name")
    return Person(name=name, role=group.people.get(address) if verified else None)


def _check_sign_in(path: Path, said: Mapping[str, Any]) -> None:
    auth = _table(path, said, "auth")
    for name in _NEEDED:
        if not isinstance(auth.get(name), str) or not auth[name].strip():
            raise BadInput(f"{path}: [auth] has no {name}; sign-in needs {', '.join(_NEEDED)}")
    if len(auth["cookie_secret"]) < _SHORTEST_SECRET:
        raise BadInput(
            f"{path}: cookie_secret is shorter than {_SHORTEST_SECRET} characters; "
            "make a long random one"
        )
    if not auth["redirect_uri"].endswith("/oauth2callback"):
        raise BadInput(f"{path}: redirect_uri must end with /oauth2callback")


def _table(path: Path, said: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    table = said.get(name)
    if not isinstance(table, dict):
        raise BadInput(f"{path} has no [{name}]; README says what a group's file holds")
    return table


def _address(path: Path, network: Mapping[str, Any]) -> str:
    """An address of this machine on the group's network; never all networks at once."""
    text = network.get("address")
    try:
        address = ipaddress.ip_address(str(text))
    except ValueError:
        raise BadInput(
            f"{path}: the address under [network] is {text!r}; give this machine's number on "
            "your network, like 192.168.7.20"
        ) from None
    if address.is_unspecified or not (address.is_private or address.is_loopback):
        raise BadInput(
            f"{path}: {address} reaches beyond your own network; give this machine's private "
            "address there"
        )
    return str(address)


def _port(path: Path, network: Mapping[str, Any]) -> int | None:
    port = network.get("port")
    if port is None:
        return None
    if isinstance(port, bool) or not isinstance(port, int) or not 1 <= port <= 65535:
        raise BadInput(f"{path}: the port under [network] is {port!r}; give 1 to 65535")
    return port


def _people(path: Path, said: Mapping[str, Any]) -> dict[str, Role]:
    people: dict[str, Role] = {}
    for address, role in _table(path, said, "people").items():
        if role not in ROLES:
            raise BadInput(
                f"{path}: {address} has the role {role!r}; the roles are {', '.join(ROLES)}"
            )
        key = address.strip().casefold()
        if key in people and people[key] != role:
            raise BadInput(f"{path}: {address} is there twice with different roles; keep one")
        people[key] = role
    if not people:
        raise BadInput(f"{path}: nobody is listed under [people], so nobody could enter")
    return people

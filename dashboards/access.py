"""Who is at the page, and what they may do: everything on this machine alone, a role in a group."""

import os
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import NoReturn

import streamlit as st
from streamlit.navigation.page import Page

from fleet.errors import FleetError
from fleet.flow.access import Person, Role, person_of, read_group
from fleet.occasion import Occasion, say_occasion

# The only person where the pages are served to this machine alone.
HERE = Person(name="", role="manage")
# Pages, by the last part of their address, that reading is not enough for.
_NEEDED: dict[str, Role] = {"log": "log", "bring_in": "manage", "trail": "manage"}


def group_file() -> Path | None:
    """The group's file where the pages are shared; None where they serve this machine only."""
    named = os.environ.get("FLEET_GROUP")
    return Path(named) if named else None


def person() -> Person:
    """Who is at the page. The file is read anew, so that a role taken away is gone at once.

    A file that cannot be read gives nobody a role.
    """
    file = group_file()
    if file is None:
        return HERE
    if not st.user.is_logged_in:
        return Person(name="", role=None)
    try:
        group = read_group(file)
    except FleetError:
        return Person(name=str(st.user.get("email") or ""), role=None)
    return person_of(group, st.user.to_dict())


def enter() -> Person:
    """Let somebody with a role in; others see how to sign in, or that nobody gave them a role."""
    who = person()
    if group_file() is not None and who.role is None:
        _turn_away(who)
    return who


def _turn_away(who: Person) -> NoReturn:
    st.title("Recap Almanac", anchor=False)
    if not st.user.is_logged_in:
        st.markdown("These pages belong to a group. Sign in with the account your group knows.")
        st.button("Sign in", type="primary", icon=":material/login:", on_click=st.login)
    else:
        st.warning(
            f"You are signed in as {who.name or 'somebody without an address'}, and nobody has "
            "given that account a role here. Ask whoever keeps the group's file for one: read, "
            "log or manage. It counts only if your provider has verified the address.",
            icon=":material/lock:",
        )
        st.button("Sign out", icon=":material/logout:", on_click=st.logout)
    st.stop()


def pages_for(who: Person, groups: Mapping[str, Sequence[Page]]) -> dict[str, list[Page]]:
    """The pages that somebody's role covers, in their groups; groups without any are left out."""
    open_to = {
        name: [page for page in pages if who.may(_NEEDED.get(page.url_path, "read"))]
        for name, pages in groups.items()
    }
    return {name: pages for name, pages in open_to.items() if pages}


def need(role: Role) -> None:
    """End the page unless whoever is there may do that; also called before anything is written."""
    who = person()
    if not who.may(role):
        st.error(
            f"This takes the role {role}; yours is {who.role or 'none'}. Nothing was changed.",
            icon=":material/lock:",
        )
        st.stop()
    say_occasion(
        Occasion(
            through=f"page {st.session_state.get('page_shown', '')}".strip(),
            clock=_clock,
            who=who.name or None,
        )
    )


def _clock() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


def signed_by() -> str | None:
    """The name for the record of who did it; None where anybody may type theirs."""
    return person().name or None


def draw_account() -> None:
    """Who is signed in, and the way out; nothing where the pages serve this machine only."""
    if group_file() is None:
        return
    who = person()
    with st.sidebar:
        st.caption(f"Signed in as {who.name} ({who.role})")
        st.button("Sign out", icon=":material/logout:", on_click=st.logout, key="sign_out")

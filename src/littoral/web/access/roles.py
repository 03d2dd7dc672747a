"""What each role may do. The roles are keeper, helper and reader; whoever sits at this computer is a keeper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from littoral.errors import LittoralError
from littoral.logbook.devices import Role
from littoral.speech.say import later

Right = Literal["look", "record", "mend", "decide", "design", "publish", "invite"]
"""`look` shows pages and works out what changes nothing; `record` adds entries and photos; `mend` corrects or undoes
an entry; `decide` judges photos and overrides limits; `design` starts trials, draws views and takes tables in;
`publish` makes films, sheets and packages; `invite` lets others in and takes keys back."""

RIGHTS: Mapping[Role, frozenset[Right]] = {
    "keeper": frozenset({"look", "record", "mend", "decide", "design", "publish", "invite"}),
    "helper": frozenset({"look", "record", "mend"}),
    "reader": frozenset({"look"}),
}
ROLE_WORDS: Mapping[Role, str] = {
    "keeper": later("may do everything"),
    "helper": later("records and adds photos"),
    "reader": later("only looks"),
}
"""What a role may do, in a few words."""
ROLE_NAMES: tuple[str, ...] = (later("keeper"), later("helper"), later("reader"))
"""The roles as people are told them; a role's key is its English name."""
DOING: Mapping[Right, str] = {
    "look": "look here",
    "record": "record anything",
    "mend": "correct or undo entries",
    "decide": "decide this",
    "design": "change the trial’s design",
    "publish": "publish",
    "invite": "let others in",
}


class NotAllowedError(LittoralError):
    """A visitor's role does not allow what was asked for; nothing was changed."""

    def __init__(self, role: Role | None, right: Right) -> None:
        self.role, self.right = role, right
        who = f"As a {role} you" if role is not None else "You"
        super().__init__(f"{who} may not {DOING[right]}. Nothing was changed. {what_allows(role, right)}")


class NotYoursError(LittoralError):
    """A helper may correct or undo only what it recorded itself; nothing was changed."""

    def __init__(self, who: str) -> None:
        self.who = who
        by = f"by {who}" if who else "by somebody at the computer"
        super().__init__(
            f"This was recorded {by}, and a helper corrects or undoes only its own. Nothing was changed. "
            "Ask a keeper, or write a note beside it."
        )


def what_allows(role: Role | None, right: Right) -> str:
    """Return who may do what a role may not."""
    if role == "reader" and right in ("record", "mend"):
        return "This device only looks: a keeper can invite it anew as a helper."
    return "A keeper can do it, or invite you anew as a keeper."


def signature(name: str, role: Role | None, given: str) -> str:
    """Return what stands in `who` of what a device called `name` records, where its form names `given`.

    A helper's own name is always in it; a keeper may record for somebody else.
    """
    if not name or (given and role == "keeper"):
        return given
    if not given or given == name or given.endswith(f" ({name})"):
        return given or name
    return f"{given} ({name})"

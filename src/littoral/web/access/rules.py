"""The one table of who may do what: the right that each address asks for. An address that is not in it is
refused to all but keepers.

The guard reads it before any page is reached, for pages, for the API and for what a phone sends later alike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal

from starlette.routing import BaseRoute, Match, Route
from starlette.types import Scope

from littoral.web.access.roles import Right

Rule = Right | Literal["anybody", "this computer"]
"""A right, or an address for whoever is not let in yet, or one that only this computer's own browser opens."""

ANYBODY = (
    "/static/{name}",
    "/favicon.ico",
    "/pair",
    "/sw.js",
    "/app.webmanifest",
    "/offline",
    "/icon-192.png",
    "/icon-512.png",
    "/icon-maskable-192.png",
    "/icon-maskable-512.png",
    "/icon-home.png",
)
"""Our own files and the form that pairs: nothing of the logbook."""

LOOKING = (
    "/",
    "/new",
    "/start",
    "/today",
    "/camera",
    "/camera/before/{key}/{view}.jpg",
    "/history",
    "/settings",
    "/history.json",
    "/pool",
    "/growth-test",
    "/mix",
    "/mix/weigh-out.csv",
    "/mix/label-small.pdf",
    "/mix/label-medium.pdf",
    "/mix/label-large.pdf",
    "/water",
    "/water/weigh-out.csv",
    "/week",
    "/costs",
    "/costs/shopping-list.pdf",
    "/costs/shopping-list.csv",
    "/entry/{kind}",
    "/entry/{id}/correct",
    "/scale/{scale}/{step:int}.svg",
    "/calendar/{key}.ics",
    "/calendar/{key}/{tank}.ics",
    "/bench-card/{key}.pdf",
    "/colour-card.pdf",
    "/api/session",
    "/api/today",
    "/api/entries/{id}",
    "/api/trials/{key}/entries",
    "/api/trials/{key}/audit",
    "/api/trials/{key}/photos",
    "/api/trials/{key}/photos/{sha256}",
    "/api/openapi.json",
    "/trial/{key}",
    "/trial/{key}/progress.json",
    "/trial/{key}/days.json",
    "/trial/{key}/charts.json",
    "/trial/{key}/design",
    "/trial/{key}/design.json",
    "/trial/{key}/design/charts.json",
    "/trial/{key}/findings.json",
    "/trial/{key}/findings.schema.json",
    "/trial/{key}/file",
    "/trial/{key}/trial.toml",
    "/trial/{key}/photo/{entry_id}/{tank}/{look}.jpg",
    "/trial/{key}/published/{name}",
    "/trial/{key}/publish",
    "/trial/{key}/publish/jobs.json",
    "/trial/{key}/publish/preview/{kind}.jpg",
    "/trial/{key}/publish/{job}/{name}",
    "/trial/{key}/levels",
    "/trial/{key}/levels/progress.json",
    "/trial/{key}/levels/charts.json",
    "/trial/{key}/levels/priors.json",
    "/trial/{key}/views/{view}",
    "/trial/{key}/views/{view}/photo/{entry_id}.jpg",
    "/trial/{key}/views/{view}/corners.json",
    "/trial/{key}/next.toml",
    "/trial/{key}/again",
    "/trial/{key}/again.json",
    "/trial/{key}/decide",
    "/trial/{key}/entries",
    "/trial/{key}/audit",
    "/trial/{key}/import",
    "/trial/{key}/import/{held}",
    "/trial/{key}/photos",
    "/trial/{key}/photos/add",
    "/trial/{key}/photos/{id}",
    "/trial/{key}/photos/{id}/small.jpg",
    "/trial/{key}/photos/{id}/counted.png",
    "/trial/{key}/colour",
    "/trial/{key}/colour.json",
    "/trial/{key}/colour/charts.json",
    "/trial/{key}/colour/progress.json",
    "/trial/{key}/series",
    "/trial/{key}/series.json",
    "/trial/{key}/series.csv",
    "/trial/{key}/series/charts.json",
    "/trial/{key}/series/progress.json",
)
"""What is opened to be read."""

SENT: Mapping[str, Rule] = {
    "/pair": "anybody",
    # worked out from what is typed or brought; nothing of it is kept, but for an override, which asks for more
    "/mix.json": "look",
    "/water.json": "look",
    "/week.json": "look",
    "/costs.json": "look",
    "/pool": "look",
    "/growth-test": "look",
    "/settings": "look",  # of this browser alone; for the logbook it asks for more
    "/trial/{key}/levels/what-if.json": "look",
    "/trial/{key}/levels/priors": "look",
    "/today": "record",
    "/entry/{kind}": "record",
    "/api/entries": "record",
    "/api/photos": "record",
    "/api/trials/{key}/photos": "record",
    "/entry/{id}/correct": "mend",
    "/entry/{id}/undo": "mend",
    "/api/entries/{id}/corrections": "mend",
    "/api/entries/{id}/undo": "mend",
    "/trial/{key}/photos/{id}": "decide",
    "/trial/{key}/photos/{id}/strokes": "design",
    "/api/photos/decisions": "decide",
    "/new": "design",
    "/start": "design",
    "/trial/{key}/again": "design",
    "/trial/{key}/views/{view}": "design",
    "/trial/{key}/import": "design",
    "/trial/{key}/import/{held}": "design",
    "/trial/{key}/publish": "publish",
    "/trial/{key}/publish/{job}/{act:str}": "publish",
    "/devices/code": "invite",
    "/devices/revoke": "invite",
}
"""What changes something when it is sent, and what is only worked out."""

RULES: Mapping[tuple[str, str], Rule] = {
    **{("GET", path): "anybody" for path in ANYBODY},
    **{("GET", path): "look" for path in LOOKING},
    **{("POST", path): right for path, right in SENT.items()},
    ("GET", "/devices"): "invite",
    ("GET", "/here"): "this computer",
}


def rule_for(routes: Sequence[BaseRoute], scope: Scope) -> tuple[Rule | None, Mapping[str, Any]]:
    """Return the rule of a request and what its address names; None where it leads to a route without a rule.

    What leads nowhere only shows that it does, to who may look.
    """
    method = "GET" if scope["method"] == "HEAD" else scope["method"]
    for route in routes:
        found, more = route.matches(scope)
        if found is Match.FULL:
            path = route.path if isinstance(route, Route) else ""
            return RULES.get((method, path)), more.get("path_params", {})
    if scope["path"].startswith(("/devices/", "/here/")):
        return ("invite" if scope["path"].startswith("/devices/") else "this computer"), {}
    return "look", {}

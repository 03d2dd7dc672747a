"""What a person sees where something is not there or was not taken: what happened, what is kept, where to go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from starlette.responses import Response

from littoral.errors import Fault
from littoral.speech.say import later, say
from littoral.web.templating import page_html

Way = tuple[str, str]
"""An address of ours, and the words of its link."""

TODAY: Way = ("/today", later("Today’s list"))
TRIALS: Way = ("/", later("All trials"))
MOVED: Mapping[str, Way] = {
    "/trials": TRIALS,
    "/home": TRIALS,
    "/index.html": TRIALS,
    "/bench": ("/history", later("History of the bench")),
    "/demo": ("/start", later("Start, with the demo beside it")),
}
"""What people may type for a page that has another address."""
PAGES: Mapping[str, str] = {
    "/today": later("Today’s list"),
    "/history": later("History of the bench"),
    "/start": later("Start a trial"),
    "/new": later("Start a trial with all settings"),
    "/pool": later("Pool keepers"),
    "/growth-test": later("Growth test"),
    "/mix": later("Mix a bottle"),
    "/water": later("Build water"),
    "/week": later("Plan a week"),
    "/costs": later("See costs"),
    "/devices": later("Phones and devices"),
    "/settings": later("Language and units"),
    "/camera": later("The camera"),
    "/pair": later("Pair this device"),
}
CLOSE = 0.6
"""How alike an address must be to one of ours to be proposed, as `difflib` counts; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Advice:
    """The heading, and what became of what was sent."""

    title: str
    kept: str


UNCHANGED = later("Nothing in the logbook was changed or lost.")
NOT_TAKEN = later(
    "What you sent was not taken, and nothing in the logbook was changed. Go back: your browser still has it."
)
ADVICE: Mapping[int, Advice] = {
    400: Advice(later("This could not be read"), NOT_TAKEN),
    401: Advice(later("This device is not paired"), NOT_TAKEN),
    403: Advice(later("This was not taken"), NOT_TAKEN),
    404: Advice(later("There is nothing here"), UNCHANGED),
    405: Advice(later("This address does not do that"), UNCHANGED),
    408: Advice(later("It took too long to arrive"), NOT_TAKEN),
    409: Advice(later("This cannot be done as things stand"), UNCHANGED),
    413: Advice(later("This is too large"), NOT_TAKEN),
    414: Advice(later("This address is too long"), UNCHANGED),
    415: Advice(later("This is not a kind of thing that is taken here"), NOT_TAKEN),
    416: Advice(later("This part of the file cannot be given"), UNCHANGED),
    422: Advice(later("Some of it cannot be taken as it is written"), NOT_TAKEN),
    429: Advice(later("Too many tries"), NOT_TAKEN),
    500: Advice(
        later("Something in Littoral went wrong"),
        later("What was recorded before is kept. Look whether the last thing is there."),
    ),
    503: Advice(
        later("It is not ready yet"),
        later("Nothing in the logbook was changed or lost. Wait a moment and load the page again."),
    ),
}


def refusal_page(
    status: int,
    what: str,
    *,
    right: str = "",
    ways: Sequence[Way] = (TODAY, TRIALS),
    faults: Sequence[Fault] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    """Return a refusal as a page: it carries no token and shows nothing of the logbook but what `what` says."""
    said = [(address, say(words)) for address, words in ways]
    text = page_html("error.html", token="", status=status, advice=advice_on(status), what=what, right=right, ways=said,
                     faults=faults)  # fmt: skip
    return Response(text, status, media_type="text/html", headers={"cache-control": "no-store", **(headers or {})})


def advice_on(status: int) -> Advice:
    """Return what is said of a status; one that is not known is as its hundred is."""
    other = ADVICE[500] if status >= 500 else Advice(later("This cannot be shown"), UNCHANGED)
    found = ADVICE.get(status, other)
    return Advice(say(found.title), say(found.kept))


def near_pages(path: str) -> tuple[Way, ...]:
    """Return where somebody may have meant to go who asked for a page that is not there."""
    plain = f"/{path.strip('/').casefold()}"
    if plain in MOVED:
        return (MOVED[plain],)
    return tuple((one, PAGES[one]) for one in get_close_matches(plain, PAGES, n=2, cutoff=CLOSE))


def near_trials(key: str, known: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Return the trials (key, title) that may have been meant: those spelt alike first, then others, at most five."""
    titles = dict(known)
    alike = get_close_matches(key.casefold(), titles, n=3, cutoff=CLOSE)
    return tuple((one, titles[one]) for one in dict.fromkeys([*alike, *titles]))[:5]

"""Where to take care: what the sheet must say wherever salts, doses, mains and water are spoken of.

Never that something is safe. It defers to safety data sheets, local rules and qualified people.
"""

from __future__ import annotations

from littoral.chemistry.salts import UnknownSaltError, salt
from littoral.findings.showing import sentence
from littoral.trial.model import Trial


def cautions_of(trial: Trial) -> tuple[str, ...]:
    """Return the cautions that belong to a trial's sheet; those of salts and doses only where any are in use."""
    found: list[str] = []
    formulas = dict.fromkeys(formula for bottle in trial.bottles.values() for formula in bottle.salts())
    if formulas:
        named = " ".join(f"{sentence(_salt_words(formula))}." for formula in formulas)
        found.append(
            f"Salts can burn, oxidise or poison. Read each product's safety data sheet before opening it, wear what it "
            f"asks for, keep salts and stock solutions locked away from children and from food. {named}"
        )
    if trial.bottles:
        found.append(
            "Too much of a fertiliser, or of one dose at once, can kill animals. The amounts here are what was done in "
            "these tanks, not advice for yours; no level is called safe. Test the water, watch the animals, change "
            "little at a time."
        )
        found.append(
            "Levels are an account of what went in and out. They do not replace a test, and a test that disagrees is "
            "to be believed before the account."
        )
    found.append(
        "Electricity and water meet at a tank: unplug before hands go in, hang cables with a drip loop, use a residual "
        "current device, and leave wiring to a qualified electrician. Local rules come first."
    )
    return tuple(found)


def _salt_words(formula: str) -> str:
    try:
        found = salt(formula)
    except UnknownSaltError:
        return f"{formula} (not in our table: see the supplier's safety data sheet)"
    return f"{found.name}, {formula}: {found.hazard_text}"

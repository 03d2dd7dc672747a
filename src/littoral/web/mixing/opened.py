"""One sheet, opened: what is written in it, worked out, and its HTML."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from littoral.acts.mix_and_feed.figures import Refused, plain
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.recipes import recipes
from littoral.chemistry.salts import salts
from littoral.chemistry.unit_traps import unit_trap
from littoral.speech.say import later, say
from littoral.web.mixing.curves import bar_of, curves_of
from littoral.web.mixing.fields import fields_of, form_of
from littoral.web.mixing.from_trial import Proposed
from littoral.web.mixing.live import Live
from littoral.web.mixing.onward import onward, with_doses
from littoral.web.mixing.sheets import MIX, WEEK, Sheet
from littoral.web.mixing.working import advise, passing_of, worked
from littoral.web.mixing.written import Written
from littoral.web.templating import page_html

Offers = tuple[tuple[str, str], ...]
LABEL_SIZES = ("small", "medium", "large")
AS_YOU_TYPE = later("Worked out as you type. What is written here lives in this page's address, and nowhere else.")


class Opened:
    """A sheet with what is written in it, and what its act makes of that; `found` is None where it was refused.

    `trial` is what the trial in the address proposes to begin from, None where the sheet proposes its own;
    then `offers` are the trials (key, title) that it could begin from.
    """

    def __init__(
        self, sheet: Sheet, sent: Mapping[str, str], *, trial: Proposed | None = None, offers: Offers = ()
    ) -> None:
        self.sheet = sheet
        self.trial = trial
        self.offers = offers
        self.trial_key = sent.get("trial", "") if trial is not None else ""
        begin = sheet.form() if trial is None or trial.form is None else trial.form
        self.written = Written(sent, proposed=fields_of(begin), units=sheet.units)
        self.remade = _do_what_a_button_asks(sheet, self.written, sent)
        self.form = form_of(sheet.form, self.written.texts)
        found = worked(sheet.work, self.form, overridden=self.written.get("overridden"))
        self.found: Any = None if isinstance(found, Refused) else found
        self.advised: Any = None
        self.told = ""
        self.kept = ""
        if isinstance(found, Refused):
            self._refuse(found)
        elif sheet is WEEK and sent.get("more") == "advise":
            advised = advise(self.form)
            if isinstance(advised, Refused):
                self._refuse(advised)
            else:
                self.advised = advised
        self.live = Live()

    def _refuse(self, refused: Refused) -> None:
        left = self.written.note(refused.faults)
        self.told = " ".join(left) or "Not worked out: something is not clear, and it is said at its field."

    @property
    def told_words(self) -> str:
        """What is told at the foot of the sheet."""
        return self.told or self.kept or say(AS_YOU_TYPE)

    def address(self) -> str:
        """Return the address that opens the sheet as it is."""
        of = self.trial.of if self.trial is not None else ""
        return self.written.address(self.sheet.path, trial=self.trial_key, of=of)

    def html(self) -> str:
        """Return the sheet's form as HTML; fills `live`."""
        stop = getattr(self.found, "stop", None)
        return page_html(
            self.sheet.template,
            path=self.sheet.path,
            title=self.sheet.title,
            sheet=self.written,
            live=self.live,
            r=self.found,
            form=self.form,
            trial=self.trial,
            trial_key=self.trial_key,
            offers=self.offers,
            told=self.told_words,
            wrong=bool(self.told),
            passing="" if stop is None else passing_of(stop),
            label_sizes=LABEL_SIZES,
            plain=plain,
            nutrients=NUTRIENTS,
            salts=salts(),
            recipes=recipes(),
            trap=lambda name: (unit_trap(name) or "") if name in NUTRIENTS else "",
            address=self.address(),
            query=self.address().partition("?")[2],
            curves_of=curves_of,
            bar_of=bar_of,
            advised=self.advised,
            advised_address="" if self.advised is None else with_doses(self.form, self.advised.doses),
            onward=onward(self.form, self.found),
        )


def _begin_with_something(sheet: Sheet, written: Written) -> None:
    """Give a bottle that is mixed for a target or by a recipe its first one, so that the sentence can be read."""
    if sheet is not MIX:
        return
    if written.get("how") == "target" and not written.rows("target"):
        written.add_row("target", {"is": "5 mg/L", "of": "nitrate"})
    if written.get("how") == "recipe" and not written.get("recipe"):
        written.texts["recipe"] = next(iter(recipes()))


def _do_what_a_button_asks(sheet: Sheet, written: Written, sent: Mapping[str, str]) -> bool:
    """Add or take away what a button asks for; return whether the sheet has other fields afterwards."""
    more, less = sent.get("more", ""), sent.get("less", "")
    if more == "override":
        written.texts["anyway"] = written.texts.pop("reason", "")
        written.texts["overridden"] = sent.get("passing", "")
    elif more == "withdraw":
        written.texts["anyway"] = written.texts["overridden"] = ""
    elif more:
        row = sheet.new_rows.get(".".join(part for part in more.split(".") if not part.isdecimal()))
        if row is not None:
            written.add_row(more.partition(":")[0], row)
    if less:
        name, _, number = less.rpartition(".")
        if number.isascii() and number.isdecimal():
            written.take_row(name, int(number))
    _begin_with_something(sheet, written)
    return bool(more or less)

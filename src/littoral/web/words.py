"""How the page writes dates, in the language in force."""

from __future__ import annotations

from littoral.speech.dates import MONTHS as MONTHS
from littoral.speech.dates import WEEKDAYS as WEEKDAYS
from littoral.speech.dates import long_date as long_date
from littoral.speech.dates import short_date as short_date

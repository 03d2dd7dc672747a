"""A further trial from the page of one: what comes along is said, what lingers is warned of, and it starts."""

from __future__ import annotations

from datetime import date

import pytest

from littoral.acts.list_trials import list_trials
from littoral.acts.start_trial import start_in_logbook
from littoral.logbook.book import Logbook
from littoral.web.app import create_app

FIRST = {"title": "Sparing or full", "glass": "60 x 30 x 30 cm", "start": "2026-03-02", "length": "8 weeks",
         "baseline": "2 weeks", "zone": "Europe/Berlin", "first": "sparing", "second": "full"}  # fmt: skip


@pytest.fixture
def there(tmp_path, asking_of):
    Logbook.create(tmp_path / "logbook").close()
    start_in_logbook(tmp_path / "logbook", **FIRST)
    return asking_of(create_app(tmp_path / "logbook", port=8765, today=lambda: date(2026, 5, 4)))


def test_it_says_what_comes_along_and_what_lingers_and_starts(there, tmp_path):
    page = there.get("/trial/sparing-or-full/again")
    assert page.status_code == 200
    for part in ("2 tanks: left tank, right tank", "Entries and photos", "half-lives", 'value="2026-05-04"'):
        assert part in page.text
    plain = there.get("/trial/sparing-or-full/again.json").json()
    assert plain["wash_out"]["half_life_days"] > 0
    wrong = there.post("/trial/sparing-or-full/again", {"title": "Light", "start": "2026-03-09"})
    assert wrong.status_code == 422
    assert 'id="start-wrong"' in wrong.text
    values = {"title": "Light", "factor": "light", "first": "8 h", "second": "10 h", "regime": "full", "start": ""}
    done = there.post("/trial/sparing-or-full/again", values)
    assert done.headers["location"] == "/trial/light/design"
    assert {one.key for one in list_trials(tmp_path / "logbook")} == {"sparing-or-full", "light"}
    assert there.get("/trial/none/again").status_code == 404

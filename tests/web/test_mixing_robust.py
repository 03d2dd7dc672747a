"""The sheets of mixing and feeding under what may be sent to them, and their files."""

from __future__ import annotations

import pytest
from tests.web import mixing_typed
from tests.web.mixing_typed import PATHS

from littoral.web.limits import MAX_FIELDS
from littoral.web.mixing.live import Live

typed = mixing_typed.typed


@pytest.mark.parametrize(
    ("address", "media_type", "start"),
    [
        ("/mix/weigh-out.csv", "text/csv; charset=utf-8", b"salt,name"),
        ("/water/weigh-out.csv", "text/csv; charset=utf-8", b"salt,name"),
        ("/mix/label-large.pdf?name=My+stock", "application/pdf", b"%PDF"),
        ("/costs/shopping-list.pdf?weeks=600+weeks", "application/pdf", b"%PDF"),
        ("/costs/shopping-list.csv?weeks=600+weeks", "text/csv; charset=utf-8", b"buy by"),
    ],
)
def test_files(asking, address, media_type, start):
    if media_type == "application/pdf":
        pytest.importorskip("typst")
    answer = asking.get(address)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == media_type
    assert answer.headers["content-disposition"].startswith("attachment")
    assert answer.content.startswith(start)


def test_a_file_of_what_is_not_clear_says_what(asking):
    answer = asking.get("/mix/weigh-out.csv?dose=many", headers={"accept": "application/json"})
    assert answer.status_code == 422
    assert "does not begin with a number" in answer.json()["error"]
    assert asking.get("/mix/label-huge.pdf").status_code == 404
    assert asking.get("/water/weigh-out.csv?target_gh=").status_code == 409


def test_no_two_live_parts_have_one_key():
    live = Live()
    live.keep("one", "<b>1</b>")
    with pytest.raises(KeyError, match="one"):
        live.keep("one", "")


@pytest.mark.parametrize("path", PATHS)
def test_nothing_sent_breaks_a_sheet(asking, path):
    token = asking.app.state.token
    for sent in (
        {},
        {"whole": "1"},
        {"whole": "1", "salts.1.of": "=cmd|' /C calc'!A0", "salts.1.is": "1 kg", "made_up_to": "20 L"},
        {"bottles.999.salts.999.of": "x", "bottles.1.key": "", "doses.1.of": "", "levels.1.of": "unobtainium"},
        {"name": "x" * 5000, "how": "magic", "start_from": "nowhere", "aim": "best", "more": "override"},
        {"salts.1.is": "1e999 g", "net_volume": "1e-300 L", "dose": "1e300 mL"},
    ):
        answer = asking("POST", f"{path}.json", data={**sent, "token": token}, headers={"origin": asking.base})
        assert answer.status_code == 200, (sent, answer.text)


@pytest.mark.parametrize(("over", "status"), [(0, 200), (1, 413)])
def test_a_form_of_one_field_over_the_limit_is_refused(asking, over, status):
    data = {f"x{number}": "1" for number in range(MAX_FIELDS - 1 + over)} | {"token": asking.app.state.token}
    assert asking("POST", "/mix.json", data=data, headers={"origin": asking.base}).status_code == status

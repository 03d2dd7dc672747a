"""The same commands on two real photo series: growth rates in the right order, and no effect where there is none.

Right answers: rosettes/SOURCE.txt ("plant11 overtakes plant17") and wolffia-wells/README.md ("the left and the right
column were treated alike") of the open data sets.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from littoral.cli.main import app

HERE = Path(__file__).parent
pytestmark = pytest.mark.real
NO_EFFECT = {"cannot tell", "no larger than", "not distinguishable from the camera"}


def done(*arguments: object) -> str:
    result = CliRunner().invoke(app, [str(argument) for argument in arguments], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def journey(name: str, folder: Path, *options: str) -> dict[str, dict]:
    """Import, answer and publish; return the findings by question."""
    done("import", HERE / f"{name}.toml", "--logbook", folder / "logbook", *options)
    findings = json.loads(done("answer", folder / "logbook", "--json"))["findings"]
    written = json.loads(done("publish", folder / "logbook", "--out", folder / "results", "--json"))
    assert all(Path(path).exists() for path in written.values())
    return {finding["question"]: finding for finding in findings}


def test_rosettes_grow_in_the_right_order(open_data: Path, tmp_path: Path) -> None:
    growth = journey("rosettes", tmp_path)["growth"]
    assert growth["effect"] > 0  # plant 11 is the second arm
    rates = {arm["tank"]: arm["value"] for arm in growth["arms"]}
    assert rates["plant11"] > rates["plant17"] > 0
    assert "effect" not in growth["wording"].lower()


def test_like_columns_show_no_effect(open_data: Path, tmp_path: Path) -> None:
    findings = journey("wolffia-wells", tmp_path)
    for finding in findings.values():
        assert finding["rule"] in NO_EFFECT
        assert "effect of" not in finding["wording"].lower()
    # The hand masks have 0.96 and 1.10 % on day 1.7, where glare under the other lamp made 1.63 and 1.90 % of it. On
    # day 0.7, under that lamp too, the left column's hand mask is a quarter larger than those before and after it.
    remarks = [remark for remark in findings["growth"]["evidence"]["remarks"] if "was set aside" in remark]
    assert len(remarks) == 2
    assert all("1.7 was set aside" in remark for remark in remarks)
    assert sum("0.7, 1.7" in remark for remark in remarks) <= 1

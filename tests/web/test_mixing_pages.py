"""The four sheets: what they say, what moves when something is typed, what is stopped, and what leaves as a file."""

from __future__ import annotations

import html
import re
import sys

import pytest
from tests.web import mixing_typed
from tests.web.mixing_typed import LAID_OUT, PATHS, TRIAL, fields_in, words

from littoral.acts.mix_and_feed.figures import Figure
from littoral.acts.mix_and_feed.from_trial import forms_of
from littoral.acts.mix_and_feed.mix_bottle import mix_bottle
from littoral.acts.mix_and_feed.mix_form import MixForm
from littoral.trial.written.reader import read_trial
from littoral.web.mixing.working import warm_up

typed = mixing_typed.typed


@pytest.mark.parametrize("path", PATHS)
def test_every_page_leads_to_the_sheets(asking, path):
    home = asking.get("/").text
    assert f'href="{path}"' in home
    page = asking.get(path)
    assert page.status_code == 200
    assert page.headers["cache-control"] == "no-store"
    assert "follow the product&#39;s" in page.text or "safety data sheet" in page.text


@pytest.mark.parametrize("path", PATHS)
def test_a_sheet_is_prose_with_fields_in_it_and_no_inline_script_or_style(asking, path):
    text = asking.get(path).text
    assert 'class="line"' in text
    assert "style=" not in text
    assert "onclick" not in text
    assert re.findall(r"<script(?![^>]* src=)", text) == []
    for name in re.findall(r'<(?:input|select)[^>]* id="([^"]*)"', text):
        labelled = re.search(rf'id="{re.escape(name)}"[^>]* aria-label="[^"]+"', text)
        assert labelled, name


@pytest.mark.parametrize("path", PATHS)
def test_sending_a_sheet_as_it_is_changes_nothing(asking, typed, path):
    answer = typed(path)
    assert answer["address"] == path
    assert answer["troubles"] == {}
    assert not answer["wrong"]
    page = asking.get(path).text
    for key, part in answer["parts"].items():
        assert f'data-live="{key}"' in page
        assert part in page


@pytest.mark.parametrize("path", PATHS)
def test_every_number_that_was_computed_answers_why(asking, path):
    text = asking.get(path).text
    figures = re.findall(r'<b class="figure[^"]*" data-figure="([^"]+)">([^<]*)</b>(.{0,60})', text, re.DOTALL)
    assert len(figures) >= 10
    without = {key for key, _, after in figures if "<details" not in after}
    # the person's own numbers: what is left on the shelf, and a full pack of it
    assert {key for key in without if not key.startswith(("left.", "weigh."))} == set()


def test_what_is_typed_moves_the_numbers(typed):
    before = typed("/mix")["parts"]["adds"]
    assert words(before).startswith("adds 1.79 mg/L of potassium, 2.12 mg/L of nitrate")
    # KNO3 is 62.005 / 101.103 nitrate by mass (IUPAC standard atomic weights): 33 g in 500 mL, 4.4 mL in 42 L
    expected = 33_000 * 62.005 / 101.103 / 500 * 4.4 / 42
    answer = typed("/mix", dose="4.4")
    assert f"{expected:.3g} mg/L of nitrate" in words(answer["parts"]["adds"])
    assert answer["tidied"] == {"dose": "4.4 mL"}
    assert answer["address"] == "/mix?dose=4.4+mL"


def test_a_derivation_stands_beside_its_number_line_by_line(typed):
    part = typed("/mix")["parts"]["adds"]
    steps = re.findall(r"<li>(.*?)</li>", part)
    shown = [words(step) for step in steps]
    assert (
        "NO₃⁻ from KNO3 33 g × 613.28 mg/g / 500 mL = 40.477 mg/mL 1 × 62.005 / 101.103 g/mol, standard atomic weights"
        in shown
    )
    assert "nitrate of one dose 40.477 mg/mL × 2.2 mL / 42 L = 2.12 mg/L conservation of mass; net volume" in shown


def test_the_page_says_what_the_act_says(typed):
    mixed = mix_bottle(MixForm(dose="3 mL"))
    parts = typed("/mix", dose="3 mL")["parts"]
    for line in mixed.nutrients:
        for figure in (line.in_bottle, line.adds, line.element):
            assert isinstance(figure, Figure)
            assert f">{figure.text}</b>" in parts["holds"]


@pytest.mark.parametrize(
    ("path", "change", "field", "said"),
    [
        ("/mix", {"salts__1__of": "MgSO4"}, "salts.1.of", "MgSO4·7H2O"),
        ("/mix", {"salts__1__is": "1.5.2 g"}, "salts.1.is", "no number"),
        ("/mix", {"made_up_to": "0 mL"}, "made_up_to", "above zero"),
        ("/mix", {"made_up_to": ""}, "made_up_to", "empty"),
        ("/mix", {"dose": "nan mL"}, "dose", "number"),
        ("/water", {"ph": "15"}, "ph", "0 to 14"),
        ("/water", {"levels__1__is": "-3 mg/L"}, "levels.1.is", "below zero"),
        ("/water", {"volume": "-20 L"}, "volume", "below zero"),
        ("/week", {"changes__1__share": "140 %"}, "changes.1.share", "100"),
        ("/week", {"doses__1__of": "macaroni"}, "doses.1.of", "no bottle"),
        ("/week", {"doses__2__on": "Mon, Someday"}, "doses.2.on", "Someday"),
        ("/week", {"bottles__2__label__1__is": "120 %"}, "bottles.2.label.1.is", "100 %"),
        ("/costs", {"kwh_price": "dear"}, "kwh_price", "number"),
    ],
)  # fmt: skip
def test_what_is_not_clear_is_said_at_its_field(typed, path, change, field, said):
    answer = typed(path, **change)
    assert field in answer["troubles"], answer["troubles"]
    assert said in answer["troubles"][field]
    assert answer["wrong"]
    assert "parts" not in answer  # what was worked out before is not passed off as this


def test_a_sheet_with_a_mistake_opens_and_says_so(asking):
    text = asking.get("/mix?dose=many").text
    assert 'value="many"' in text
    assert "does not begin with a number" in html.unescape(text)
    assert 'aria-invalid="true"' in text
    assert "cannot be worked out yet" in text


def test_what_a_person_writes_is_escaped(asking, typed):
    text = asking.get("/mix?name=%3Cscript%3Ealert(1)%3C/script%3E&reason=%22%3E%3Cb%3E").text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text
    assert '"><b>' not in text
    parts = typed("/mix", dose="200 mL", anyway="<i>because</i>", overridden="x")["parts"]
    assert "<i>because" not in "".join(parts.values())


def test_the_form_needs_the_token(asking):
    answer = asking("POST", "/mix.json", data={"dose": "3 mL", "token": "none"}, headers={"origin": asking.base})
    assert answer.status_code == 403
    assert asking.get("/mix.json").status_code == 405


def test_rows_come_and_go(typed):
    more = typed("/mix", more="salts")
    assert more["focus"] == "salts.4.is"
    assert 'name="salts.4.of"' in more["sheet"]
    less = typed("/mix", less="salts.2")
    assert "KH2PO4" not in fields_in(less["sheet"]).values()
    assert less["address"] == "/mix?without=salts.2"
    for odd in ("salts.", "salts.x", "nothing.3", "..", "salts.²"):
        assert typed("/mix", less=odd)["address"] == "/mix"
    assert typed("/mix", more="no such list")["address"] == "/mix"


@pytest.mark.parametrize(
    ("path", "list_", "fields"),
    [
        ("/week", "bottles", ("bottles.3.key", "bottles.3.salts.1.of", "bottles.3.made_up_to")),
        ("/week", "bottles:label", ("bottles.3.label.1.of", "bottles.3.density", "bottles.3.label_by")),
        ("/week", "bottles:dry", ("bottles.3.dry", "bottles.3.tool")),
        ("/week", "bottles.1.salts", ("bottles.1.salts.4.is",)),
        ("/week", "bands", ("bands.1.of", "bands.1.is")),
        ("/week", "weekly", ("weekly.1.amount", "weekly.1.of", "weekly.1.laid_out")),
        ("/costs", "weekly", ("weekly.1.amount", "weekly.1.of")),
        ("/costs", "power", ("power.2.watts",)),
        ("/costs", "kits", ("kits.1.tests",)),
        ("/costs", "things", ("things.1.life",)),
        ("/water", "shelf", ("shelf.4.of",)),
        ("/mix", "own", ("own.1.formula",)),
    ],
)
def test_every_list_can_grow(typed, path, list_, fields):
    sheet = typed(path, more=list_)["sheet"]
    assert set(fields) <= set(fields_in(sheet))


def test_mixing_for_a_target_and_by_a_recipe_begin_with_something(typed):
    target = typed("/mix", how="target", more="as it is")["sheet"]
    assert fields_in(target)["target.1.is"] == "5 mg/L"
    assert "that is" in words(target)
    recipe = typed("/mix", how="recipe", more="as it is")["sheet"]
    assert "The recipe is from Hoagland" in words(recipe)


def test_a_bottle_goes_on_to_a_week_and_a_week_to_its_costs(asking):
    page = asking.get("/mix?salts.1.is=20+g&name=My+stock").text
    onward = html.unescape(re.search(r'href="(/week\?[^"]*)">On to', page)[1])
    week = asking.get(onward).text
    sent = fields_in(week)
    assert sent["bottles.1.key"] == "my-stock"
    assert sent["bottles.1.salts.1.is"] == "20 g"
    assert "bottles.2.key" not in sent
    assert "Once the week has settled" in week
    costs = asking.get(html.unescape(re.search(r'href="(/costs\?[^"]*)">On to', week)[1])).text
    assert "bottles.1.salts.1.is" in fields_in(costs)
    assert "A week costs" in costs


def test_a_week_is_laid_out_by_counted_strokes_and_goes_on_to_its_costs(asking, typed):
    sheet = typed("/week", more="as it is", **LAID_OUT)
    parts = typed(sheet["address"])["parts"]
    # (12.0 + 11.8 + 12.1) mL / 30 strokes; two of four after the change
    assert words(parts["tools"]).startswith("macro stock: one stroke, counted, gives 1.197 mL , give or take")
    assert "instead of the stated 1.1 mL" in parts["tools"]
    assert words(parts["weekly.1"]).startswith("– on Sat: 2.393 mL")
    assert "On Mon, Tue, Wed, Thu, Fri, Sun: 0.3989 mL" in words(parts["weekly.1"])
    assert "(3 × 10 strokes) = 1.197 mL" in re.sub(r"<[^>]*>", "", parts["tools"]).replace("  ", " ")
    assert "<td>40 %</td><td>2.393 mL of macro stock</td>" in parts["days"]
    costs = asking.get(html.unescape(re.search(r'href="(/costs\?[^"]*)">On to', parts["onward"])[1])).text
    assert fields_in(costs)["weekly.1.amount"] == "4 strokes"
    assert 'data-figure="tool.macro"' in costs
    wrong = typed("/week", more="weekly", **{**LAID_OUT, "weekly__1__laid_out": "somehow"})
    assert "somehow" in wrong["troubles"]["weekly.1.laid_out"]


def test_level_spoons_and_the_advice_to_weigh(typed):
    sheet = typed("/week", more="bottles:dry")
    dry = {"bottles__3__key": "potash", "bottles__3__dry": "K2SO4", "bottles__3__tool": "1.25 mL spoon"}
    parts = typed(sheet["address"], **dry)["parts"]
    assert "one level spoon holds about 1.75 g , from 1.5 to 2 g" in words(parts["tools"])
    assert "weigh where it matters" in parts["checks"]
    own = typed(sheet["address"], **dry, bottles__3__bulk="1.3 to 1.4")
    assert "bottles.3.bulk" in own["troubles"]
    own = typed(sheet["address"], **dry, bottles__3__bulk="1.3 to 1.4 g/mL")["parts"]
    assert "about 1.69 g" in words(own["tools"])


def test_an_advised_price_has_its_currency(typed):
    asked = {"bands__1__of": "nitrate", "bands__1__is": "5 to 20 mg/L", "currency": "CHF"}
    assert "CHF a week" in words(typed("/week", more="advise", **asked)["sheet"])


def test_built_water_goes_on_to_a_week(asking):
    page = asking.get("/water").text
    sent = fields_in(asking.get(html.unescape(re.search(r'href="(/week\?[^"]*)">On to', page)[1])).text)
    assert dict(zip(
        [sent[f"source.{n}.of"] for n in (1, 2, 3)], [sent[f"source.{n}.is"] for n in (1, 2, 3)], strict=True
    ))["nitrate"] == "0 mg/L"  # fmt: skip


def test_advice_is_asked_for_and_can_be_taken_over(asking, typed):
    asked = {"bands__1__of": "nitrate", "bands__1__is": "5 to 20 mg/L"}
    sheet = typed("/week", more="advise", **asked)["sheet"]
    assert "proven" in words(sheet)
    taken = html.unescape(re.search(r'href="([^"]*)">Take these doses over', sheet)[1])
    week = asking.get(taken).text
    amounts = [text for name, text in fields_in(week).items() if re.fullmatch(r"doses\.[0-9]+\.amount", name)]
    assert amounts
    for amount in amounts:
        assert f"<b>{amount}</b> of" in sheet
    refused = typed("/week", more="advise")
    assert refused["wrong"]
    assert "bands" in refused["told"]


def test_a_sheet_begins_from_a_trial(asking, bench, monkeypatch):
    monkeypatch.setattr(bench, "text", lambda key: TRIAL)
    trial, _ = read_trial(TRIAL, where="trial.toml")
    forms = forms_of(trial)
    assert forms.weeks
    first, *others = forms.weeks
    text = asking.get("/week?trial=small").text
    assert fields_in(text)["net_volume"] == forms.weeks[first].net_volume
    assert 'href="/trial/small"' in text
    assert 'href="/costs?trial=small"' in text
    assert others
    other = fields_in(asking.get(f"/week?trial=small&of={others[0]}").text)
    assert other["doses.1.amount"] == forms.weeks[others[0]].doses[0].amount
    sent = {**other, "net_volume": "50 L", "token": asking.app.state.token}
    answer = asking("POST", "/week.json", data=sent, headers={"origin": asking.base}).json()
    assert answer["address"] == f"/week?trial=small&of={others[0]}&net_volume=50+L"
    for path in PATHS:
        assert asking.get(f"{path}?trial=small").status_code == 200
    assert asking.get("/week?trial=none").status_code == 404


def test_a_sheet_without_a_trial_offers_those_that_there_are(asking, typed):
    for path in PATHS:
        assert f'<a href="{path}?trial=small">' in asking.get(path).text
    assert '<a href="/week?trial=small">' in typed("/week", more="doses")["sheet"]
    assert "An example to type over" not in asking.get("/week?trial=small").text


def test_a_trial_page_leads_to_the_sheets_with_its_trial(asking):
    assert 'href="/week?trial=small"' in asking.get("/trial/small").text


def test_a_trial_that_cannot_be_read_proposes_nothing(asking):
    text = asking.get("/mix?trial=small").text
    assert "which says nothing of this kind" in text
    assert fields_in(text)["dose"] == MixForm().dose


def test_every_sheet_is_worked_out_once_in_the_background():
    thread = warm_up()
    thread.join(60)
    assert not thread.is_alive()
    assert "scipy.optimize" in sys.modules

"""A dose past a published limit is stopped on the sheets, and what overriding it takes."""

from __future__ import annotations

from tests.web import mixing_typed
from tests.web.mixing_typed import fields_in, words

from littoral.acts.mix_and_feed.mix_bottle import mix_bottle
from littoral.acts.mix_and_feed.mix_form import MixForm
from littoral.web.mixing.working import passing_of, worked

typed = mixing_typed.typed


def test_a_dose_that_passes_a_published_limit_is_stopped(asking, typed):
    parts = typed("/mix", dose="200 mL")["parts"]
    assert "Stopped" in parts["stop"]
    assert "nitrate, CCME, long" in parts["stop"]
    assert "Not an aquarium limit" in parts["stop"]
    assert "Override the limit" in parts["override"]
    assert "Weigh out" not in parts["bench"]
    assert "label-" not in parts["bench"]
    assert asking.get("/mix/label-large.pdf?dose=200+mL").status_code == 409
    assert asking.get("/mix/weigh-out.csv?dose=200+mL").status_code == 409


def test_an_override_needs_a_reason_and_the_button(typed):
    assert "Stopped" in typed("/mix", dose="200 mL", reason="no animals in it")["parts"]["stop"]
    passing = fields_in(typed("/mix", dose="200 mL", more="as it is")["sheet"])["passing"]
    assert "Stopped" in typed("/mix", dose="200 mL", more="override", reason="", passing=passing)["sheet"]
    done = typed("/mix", dose="200 mL", more="override", reason="no animals in it", passing=passing)
    assert "Overridden" in done["sheet"]
    assert "<q>no animals in it</q>" in done["sheet"]
    assert "label-large.pdf" in done["sheet"]
    assert "anyway=no+animals+in+it" in done["address"]
    back = typed(done["address"], more="withdraw")
    assert "Stopped" in back["sheet"]
    assert "anyway" not in back["address"]


def test_an_override_is_of_the_limits_that_were_seen(typed):
    passing = fields_in(typed("/mix", dose="200 mL", more="as it is")["sheet"])["passing"]
    done = typed("/mix", dose="200 mL", more="override", reason="no animals in it", passing=passing)
    assert "Overridden" in typed(done["address"], dose="190 mL")["parts"]["stop"]
    assert "Stopped" in typed(done["address"], dose="2000 mL")["parts"]["stop"]


def test_a_reason_alone_in_an_address_overrides_nothing():
    form = MixForm(dose="200 mL", anyway="because")
    stopped = worked(mix_bottle, form, overridden="")
    assert stopped.stop.stands
    given = worked(mix_bottle, form, overridden=passing_of(stopped.stop))
    assert not given.stop.stands
    assert given.label.anyway == "because"


def test_a_week_that_passes_a_limit_holds_back_its_doses_and_shows_its_levels(typed):
    parts = typed("/week", doses__1__amount="60 mL")["parts"]
    assert "Stopped" in parts["stop"]
    assert words(parts["dose.1"]) == ""
    assert "Channel" not in parts["pump"]
    assert "<polyline" in parts["curves"]

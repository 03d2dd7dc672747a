"""A helper mends what carries its name: so it cannot pair as whoever recorded before."""

from __future__ import annotations

import pytest
from tests.acts import record_tried
from tests.acts.record_tried import NOW

from littoral.acts.keep_devices import pair_device
from littoral.acts.record_entry import record_note
from littoral.acts.told import Told
from littoral.errors import FaultsError

folder = record_tried.folder


@pytest.mark.parametrize("who", ["Tablet", "Anna (Tablet)"])
def test_no_helper_takes_a_name_that_stands_at_entries_already(folder, who):
    record_note(folder, "left", "Looks well.", told=Told(who=who), now=NOW)
    with pytest.raises(FaultsError, match="stands at entries already"):
        pair_device(folder, "tablet", role="helper", now=NOW)
    assert pair_device(folder, "Tablet 2", role="helper", now=NOW).device.name == "Tablet 2"
    assert pair_device(folder, "Tablet", role="keeper", now=NOW).device.role == "keeper"

"""One lobe's entries by their own names: angles in degrees, lengths first in the unit that they were typed in."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.checks.blame import Teller
from tallstack.cli.job.checks.one_lobe import OneLobe
from tallstack.cli.job.loading import understood

from ....job_texts import TWO, changed

CARD = '[lobe.intake]\ncard = { peak = PEAK, duration = { at = AT, degrees = 230 } }\ncentreline = 108\nmeasured_at = "lifter"\n[stack]'


def lobe(peak: str, at: str) -> OneLobe:
    text = changed(TWO, ("[stack]", CARD.replace("PEAK", peak).replace("AT", at)))
    entries = understood(Path("job.toml"), text, ()).entries
    return OneLobe(
        "intake",
        entries,
        Teller(entries, lambda path: ((path,), path)),
        lambda path: path.endswith("card.ratio"),
    )


def test_entries_by_their_own_names() -> None:
    one = lobe("8.0", "1.27")
    assert one.has("card")
    assert one.has("centreline")
    assert not one.has("car")
    assert not one.has("law")
    assert one.number("card.peak") == 8.0
    assert one.number("centreline") == pytest.approx(108.0)
    assert one.number("card.duration.degrees") == pytest.approx(230.0)
    assert one.number("measured_at") is None
    assert (one.word("measured_at"), one.word("centreline")) == ("lifter", "")


def test_lengths_stand_first_in_the_unit_of_this_lobe() -> None:
    assert lobe("8.0", "1.27").length(25.4).startswith("25.400 mm")
    assert lobe('"0.315 in"', '"0.050 in"').length(25.4).startswith("1.0000 in")
    assert lobe('"0.315 in"', "1.27").length(25.4).startswith("25.400 mm")  # one of them in mm


def test_what_was_left_blank_is_not_called_lacking() -> None:
    one = lobe("8.0", "1.27")
    assert list(one.lacking("card", "ratio", "missing; write it")) == []
    (fault,) = one.lacking("card", "lash", "missing; write it")
    assert fault.entry == "lobe.intake.card.lash"

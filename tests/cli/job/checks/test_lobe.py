"""What the entries of a lobe mean together: one source, numbers that can be, a centreline that fits its events."""

from __future__ import annotations

import pytest
from tallstack.cli.job.checks.lobe import middle_of_events, ports_of

from ....job_texts import TWO, changed, faults_of

CARD = "card = { peak = 8.0, duration = { at = 1.27, degrees = 230 }, seat = { at = 0.15, degrees = 280 } }\ncentreline = 108"


def lobe(text: str) -> dict[str, str]:
    return faults_of(changed(TWO, ("[stack]", f"[lobe.intake]\n{text}\n[stack]")))


def test_a_sound_card_and_a_sound_law_have_none() -> None:
    assert lobe(CARD) == {}
    assert lobe('law = { name = "cycloidal", peak = 8.0, degrees = 280 }\ncentreline = 108') == {}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (CARD + '\nlaw = { name = "cycloidal", peak = 8.0, degrees = 280 }', "are both given"),
        (CARD.replace("= 108", "= 200"), "centreline"),
        (CARD.replace("peak = 8.0", "peak = 80"), "more than any lobe or valve lifts"),
        (CARD.replace("peak = 8.0", "peak = 0.1"), "less than any lobe lifts"),
        (CARD.replace("degrees = 280", "degrees = 220"), "a lobe is narrower the higher it is looked at"),
        ("law = { peak = 8.0, degrees = 280 }\ncentreline = 108", "missing; say name"),
        (CARD + "\nlash_read = 0.2", "lash_read"),
    ],
)
def test_what_a_lobe_cannot_be(text: str, said: str) -> None:
    found = lobe(text)
    assert any(said in f"{loc}: {one}" for loc, one in found.items()), found


@pytest.mark.parametrize(
    ("ports", "middle"),
    [(("intake",), 110.0), (("exhaust",), 70.0), (("intake", "exhaust"), None), ((), None)],
)
def test_where_the_middle_of_events_stands(ports: tuple[str, ...], middle: float | None) -> None:
    """Opens 20 before one centre and closes 60 after the other: 260 degrees, its middle 110 after the first of them."""
    assert middle_of_events(20.0, 60.0, ports) == middle
    assert middle_of_events(None, 60.0, ports) is None


def test_which_ports_a_lobe_works_for() -> None:
    mapping = {"trains": ("one.intake", "one.exhaust"), "one.exhaust.lobe": "intake"}
    assert ports_of("intake", mapping) == ("exhaust", "intake")
    assert ports_of("exhaust", mapping) == ("exhaust",)  # by its name alone
    assert ports_of("spare", {"trains": ("one.intake",), "one.intake.lobe": "spare"}) == ("intake",)
    assert ports_of("nothing", mapping) == ()

"""`piston.bore_entries`: a job declares exactly the readings that the geometry reads."""

from __future__ import annotations

from tallstack.cli.job.entries.engine_tables import BORE_READINGS, RUNNING
from tallstack.cli.job.entries.fields import Choice
from tallstack.geometry.piston.bore_entries import DIRECTIONS, HEIGHTS, LARGEST, ROCKED, SHARES


def test_every_height_is_read_in_both_directions_and_swept() -> None:
    assert {f"{height}_{way}" for height in HEIGHTS for way in (*DIRECTIONS, LARGEST)} <= set(
        BORE_READINGS.parts
    )


def test_what_may_be_said_of_play_and_deck_is_what_is_understood() -> None:
    play, deck = RUNNING.parts["play_was"], RUNNING.parts["deck_read"]
    assert isinstance(play, Choice)
    assert isinstance(deck, Choice)
    assert play.options == tuple(SHARES)
    assert ROCKED in deck.options

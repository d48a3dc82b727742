"""How an adjuster is turned, in words."""

from __future__ import annotations

from tallstack.cli.page.setting_words import flats_words, turned_words


def test_flats_are_told_in_quarters() -> None:
    assert [flats_words(one) for one in (0.1, 0.25, 1.0, 1.49, 7.76, 12.0)] == [
        *("0 flats", "1/4 flats", "1 flat", "1 1/2 flats", "7 3/4 flats", "12 flats")
    ]
    assert turned_words(-1.0, None, "from zero lash") == "back 1.00 turn from zero lash"

"""Lines and letters of a drawing: how wide a text is."""

from __future__ import annotations

from tallstack.cli.drawing.lines import width


def test_widths_are_not_less_than_those_of_a_wide_face() -> None:
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    for words in ("rocker.pushrod_station  23.00 mm (0.906 in)", "ESTIMATE, NOT FOR ORDERING", "AMW"):
        for weight, bold in (("normal", False), ("bold", True)):
            face = FontProperties(family="DejaVu Sans", weight=weight)
            real = TextPath((0, 0), words, size=10, prop=face).get_extents().width
            assert real <= width(words, 10, bold) * 1.02

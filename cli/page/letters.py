"""The letters a sheet is printed in: where they are, which there are, and a page's own share of them.

They come with matplotlib, which is not loaded for it.
"""

from __future__ import annotations

import base64
import importlib.util
import io
from functools import cache
from pathlib import Path

FACES = (  # family, weight, style as the PDF counts it, file
    ("sheet", "normal", "", "DejaVuSans"),
    ("sheet", "bold", "B", "DejaVuSans-Bold"),
)
ALWAYS = frozenset(range(0x20, 0x7F))


def file_of(name: str) -> Path:
    """Return where a face's letters are."""
    found = importlib.util.find_spec("matplotlib")
    assert found is not None
    assert found.submodule_search_locations is not None
    return Path(next(iter(found.submodule_search_locations))) / "mpl-data" / "fonts" / "ttf" / f"{name}.ttf"


@cache
def known() -> frozenset[int]:
    """Return every letter, by its number, that can be printed."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    with TTFont(file_of(FACES[0][3])) as font:
        return frozenset(font.getBestCmap())


def embedded(words: str) -> str:
    """Return the style rules that bring these words' letters along, the same for the same letters."""
    wanted = ALWAYS | {ord(one) for one in words}
    return "\n".join(
        f'@font-face {{ font-family: "{family}"; font-weight: {weight}; '
        f'src: url("data:font/woff;base64,{base64.b64encode(_share(name, wanted)).decode()}") format("woff"); }}'
        for family, weight, _, name in FACES
    )


def _share(name: str, wanted: frozenset[int] | set[int]) -> bytes:
    """Return a face with no more than the letters wanted."""
    from fontTools.subset import Options, Subsetter  # type: ignore[import-untyped]
    from fontTools.ttLib import TTFont

    options = Options(
        flavor="woff", hinting=False, layout_features=[], name_IDs=[], glyph_names=False, notdef_outline=True
    )
    options.drop_tables += ["FFTM", "GDEF", "GPOS", "GSUB", "MATH"]  # of no layout feature
    with TTFont(file_of(name), recalcTimestamp=False) as font:
        subsetter = Subsetter(options)
        subsetter.populate(unicodes=wanted)
        subsetter.subset(font)
        font.flavor = "woff"
        stream = io.BytesIO()
        font.save(stream)
    return stream.getvalue()

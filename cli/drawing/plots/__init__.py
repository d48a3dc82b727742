"""matplotlib without its remarks: where it keeps its list of fonts is nothing to the reader of an answer.

Imported ahead of matplotlib by every module that a command loads to draw.
"""

from __future__ import annotations

import logging

from ...files import OutputRefusedError

logging.getLogger("matplotlib").setLevel(logging.ERROR)

try:
    import matplotlib as mpl
except OSError:
    NOWHERE = "drawing needs a folder for its list of fonts; name one that may be written in as MPLCONFIGDIR"
    raise OutputRefusedError(NOWHERE) from None

__all__ = ["mpl"]

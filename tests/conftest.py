"""What is there once all tests are found stays there: nothing looks through it again for what could be thrown away."""

from __future__ import annotations

import gc


def pytest_collection_finish() -> None:
    gc.collect()
    gc.freeze()

"""What is there once all tests are found stays there, and what second methods found stands in the report.

Nothing looks through it again for what could be thrown away.
"""

from __future__ import annotations

import gc

from .measured import measured, pytest_addoption, pytest_terminal_summary

__all__ = ["measured", "pytest_addoption", "pytest_terminal_summary"]


def pytest_collection_finish() -> None:
    gc.collect()
    gc.freeze()

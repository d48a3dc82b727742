"""A job as a program holds it."""

from __future__ import annotations

import pytest
import tallstack as ts

from ...test_library import GASKETS


@pytest.fixture(scope="module")
def job() -> ts.Job:
    return ts.load(str(GASKETS))

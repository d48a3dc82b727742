"""One engine said in other ways answers the same: the same numbers within 1e-6, the same verdicts.

Figures, measured on two cores with CPython 3.11:

- 320 jobs made of 12 random engines by every other way to say an entry and in mixtures, `-m study`, 16 min of one
  processor: numbers of pushrods, clearances, fits and plan: within 1e-6, the same verdicts; limit: 1e-6 mm
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from .respelled import WAYS, answers, apart, plain_job, respelled

CLOSE = 1e-6
BASES = 12  # random engines of the study, each said in every way and in mixtures
MIXED = 4
SAMPLE = (  # mixtures that go together, every way in one of them
    ("cup", "tip height", "checking rod by pitch", "deck by bridge", "row of springs", "card by events", "inches"),
    ("ratio for the valve arm", "span", "pocket deepest", "checking rod by threads", "rate by free length", "like"),
    ("ratio for the pushrod arm", "the cylinder's own", "free length by force", "card at the valve", "thousandths"),
    ("threads per inch", "plunger down by nothing", "longer direction", "expansions", "named lobes",
     "stack of the reading", "by --with"),
)  # fmt: skip


@pytest.mark.parametrize(
    "names", [SAMPLE[0], *(pytest.param(one, marks=pytest.mark.wide) for one in SAMPLE[1:])]
)
def test_an_engine_said_otherwise_answers_the_same(
    names: tuple[str, ...], tmp_path: Path, plain: tuple[int, dict[str, object]]
) -> None:
    seed, wanted = plain
    rng = np.random.default_rng([seed, 3])
    job = plain_job(rng)
    for name in names:
        found = WAYS[name](job, rng)
        job = job if found is None else found
    assert not apart(wanted, answers(job, tmp_path / "job.toml", rng), CLOSE)


@pytest.fixture(scope="module", params=[5])
def plain(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[int, dict[str, object]]:
    rng = np.random.default_rng([request.param, 3])
    found = answers(plain_job(rng), tmp_path_factory.mktemp("plain") / "job.toml", rng)
    assert not [where for where in found if where.endswith(".error")]
    assert len(found) > 300
    return request.param, found


def test_every_way_is_in_the_sample() -> None:
    assert {name for names in SAMPLE for name in names} == set(WAYS)


@pytest.mark.study
@pytest.mark.parametrize("seed", range(BASES))
def test_random_engines_said_in_every_way_answer_the_same(seed: int, tmp_path: Path) -> None:
    """Some 300 jobs in all, made from one another."""
    rng = np.random.default_rng([seed, 3])
    job = plain_job(rng)
    wanted = answers(job, tmp_path / "plain.toml", rng)
    assert not [where for where in wanted if where.endswith(".error")]
    told = {
        name: off
        for name, other in respelled(job, rng, MIXED)
        if (off := apart(wanted, answers(other, tmp_path / "other.toml", rng), CLOSE))
    }
    assert not told

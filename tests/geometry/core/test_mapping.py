"""The flat mapping: what is remembered of one, and that nothing is of one that can be changed."""

from __future__ import annotations

import copy
import dataclasses
import json
import pickle
import random
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from threading import Barrier, Thread
from types import FrameType
from typing import Any

import numpy as np
import pytest
from tallstack.cli.commands import clearance, pushrods
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load
from tallstack.geometry import build, required
from tallstack.geometry.core.mapping import Frozen, Reader, frozen, kept
from tallstack.geometry.engine.defaults import completed

from ...commands import BENCH, COORDINATES, DEMO, EXAMPLES
from ...oracles import raw_loop
from ...oracles.random_trains import TRAIN, random_mapping


def length(mapping: dict[str, object]) -> float:
    return float(required(build(mapping).train(TRAIN)).lengths["centres"])  # type: ignore[arg-type]


@pytest.mark.parametrize("entry", ["stack.cylinder", f"{TRAIN}.lifter.seat.z", f"{TRAIN}.rocker.pushrod_arm"])
def test_the_same_dict_changed_is_another_engine(entry: str) -> None:
    mapping = random_mapping(np.random.default_rng(5), kind="hydraulic")
    for by in (0.0, 0.7, -0.3):
        mapping[entry] = float(str(mapping[entry])) + by
        assert length(mapping) == pytest.approx(raw_loop.length(mapping, TRAIN), abs=1e-9)


def test_another_entry_in_place_of_one_is_seen() -> None:
    """The same dict of the same length: an arm by the ratio in place of an arm."""
    mapping = random_mapping(np.random.default_rng(6), kind="hydraulic")
    before = length(mapping)
    ratio = float(str(mapping[f"{TRAIN}.rocker.valve_arm"])) / float(
        str(mapping.pop(f"{TRAIN}.rocker.pushrod_arm"))
    )
    mapping[f"{TRAIN}.rocker.ratio"] = ratio
    assert length(mapping) == pytest.approx(before, abs=1e-9)
    reader = Reader(mapping, (f"{TRAIN}.",))  # type: ignore[arg-type]
    assert not reader.has("rocker.span")
    mapping[f"{TRAIN}.rocker.span"] = mapping.pop(f"{TRAIN}.rocker.arm_angle")
    assert reader.has("rocker.span")
    assert not reader.has("rocker.arm_angle")


def test_a_frozen_mapping_remembers_and_cannot_be_changed() -> None:
    still = frozen(random_mapping(np.random.default_rng(7), kind="hydraulic"))  # type: ignore[arg-type]
    assert frozen(still) is still
    full, assumed = completed(still)
    assert completed(still) == (full, assumed)
    assert completed(still)[0] is full
    assert completed(full) == (full, [])
    changes = [
        lambda: still.__setitem__("stack.cylinder", 1.0),
        lambda: still.__delitem__("stack.cylinder"),
        lambda: still.update({"stack.cylinder": 1.0}),
        lambda: still.pop("stack.cylinder"),
        lambda: still.popitem(),
        lambda: still.clear(),
        lambda: still.setdefault("stack.cylinder", 1.0),
        lambda: still.__ior__({"stack.cylinder": 1.0}),
    ]
    for change in changes:
        with pytest.raises(TypeError, match="cannot be changed"):
            change()
    for same in (copy.deepcopy(still), pickle.loads(pickle.dumps(still)), copy.copy(still)):
        assert type(same) is Frozen
        assert same == still
    assert type({**still}) is dict
    assert type(still | {"stack.cylinder": 1.0}) is dict


def test_another_mapping_shares_what_was_kept_and_its_stems() -> None:
    still, _ = completed(random_mapping(np.random.default_rng(7), kind="hydraulic"))  # type: ignore[arg-type]
    tried: list[str] = []

    def work() -> str:
        tried.append("once")
        return "worked out"

    assert Reader(still, ("",)).has("stack")
    taller = still.with_({"stack.cylinder": 151.5})
    assert (taller["stack.cylinder"], still["stack.cylinder"]) != (still["stack.cylinder"],) * 2
    assert [one.kept("key", work) for one in (still, taller, taller.with_({"stack.new": 1.0}))] == [
        "worked out"
    ] * 3
    assert kept({**still}, "key", work) == "worked out"
    assert tried == ["once", "once"]
    assert completed(taller) == (taller, [])
    assert not Reader(still, ("",)).has("stack.new")
    assert Reader(taller.with_({"stack.new": 1.0}), ("",)).has("stack.new")
    assert not frozen({**still}).memory  # another engine keeps its own


def test_arrays_are_only_read_and_what_is_no_value_is_refused() -> None:
    heights = np.array([1.0, 2.0])
    still = frozen({"stack.cylinder": heights})
    heights[0] = 5.0
    assert still["stack.cylinder"].tolist() == [1.0, 2.0]
    with pytest.raises(ValueError, match="read-only"):
        still["stack.cylinder"][0] = 3.0
    for wrong in ([1.0, 2.0], None, {"x": 1.0}):
        with pytest.raises(TypeError, match=r"stack\.cylinder: a \w+ is no value of an entry; give a number"):
            frozen({"stack.cylinder": wrong})  # type: ignore[dict-item]


def test_two_engines_in_two_threads_do_not_meet() -> None:
    engines = [random_mapping(np.random.default_rng(seed), kind="hydraulic") for seed in (8, 9)]
    wanted = [length(one) for one in engines]
    wrong: list[float] = []

    def work(mapping: dict[str, object], right: float) -> None:
        wrong.extend(off for _ in range(30) if (off := abs(length(mapping) - right)) > 1e-9)

    threads = [Thread(target=work, args=pair) for pair in zip(engines, wanted, strict=True)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert not wrong


TO_CUT = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"
READINGS = EXAMPLES / "cam_known_from_36_readings" / "job.toml"
ANSWERS = ("orders", "clearances", "fits")
MOST_CALLS = 400  # from one place where a thread lets the others go on to the next


def all_of(job: Job, order: Sequence[str] = ANSWERS) -> list[str]:
    """Every number of a job's answers, asked in an order, and its documents: each bit, always set down in one order."""
    settled = job.settled
    found = {name: getattr(settled, name) for name in order}
    documents = [command.answer(job).document for command in (pushrods, clearance)]
    return [*(bits(found[name]) for name in ANSWERS), *(json.dumps(one) for one in documents)]


def bits(answer: Any) -> str:
    """An answer with every number in it to its last bit."""
    if isinstance(answer, (float, np.ndarray, np.generic)):
        array = np.asarray(answer)
        return f"{array.dtype}{array.shape}{array.tobytes().hex()}"
    if dataclasses.is_dataclass(answer):
        fields = [(one.name, getattr(answer, one.name)) for one in dataclasses.fields(answer)]
        return f"{type(answer).__name__}{bits(fields)}"
    if isinstance(answer, dict):
        return f"{{{bits(list(answer.items()))}}}"
    if isinstance(answer, (list, tuple)):
        return f"{type(answer).__name__}({','.join(map(bits, answer))})"
    if callable(answer):
        return str(answer.__qualname__)
    if type(answer).__repr__ is object.__repr__:
        names = getattr(answer, "__slots__", None) or list(vars(answer))
        known = {name: getattr(answer, name) for name in names if not name.startswith("_")}
        return f"{type(answer).__name__}{bits(known)}"  # without what it keeps for itself
    return repr(answer)


def giving_way(seed: int) -> Callable[[FrameType, str, object], None]:
    """A profile hook by which a thread lets the others go on, at calls drawn at random, whatever the machine is at."""
    draw = random.Random(seed)
    left = draw.randrange(MOST_CALLS)

    def hook(_: FrameType, event: str, __: object) -> None:
        nonlocal left
        left -= 1
        if left < 0:
            left = draw.randrange(MOST_CALLS)
            time.sleep(1e-6)

    return hook


def at_once(seed: int, *works: Callable[[], list[str]]) -> list[list[str]]:
    """What each of some works comes to, each in a thread of its own, begun together; seed : where they give way."""
    start = Barrier(len(works))
    found: list[list[str]] = [[] for _ in works]

    def run(place: int) -> None:
        start.wait()
        sys.setprofile(giving_way(seed * len(works) + place))
        try:
            found[place] = works[place]()
        except Exception as error:  # it would end in its thread unseen
            found[place] = [repr(error)]
        finally:
            sys.setprofile(None)

    threads = [Thread(target=run, args=(place,), daemon=True) for place in range(len(works))]
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)
    try:
        for one in threads:
            one.start()
        for one in threads:
            one.join(600)
    finally:
        sys.setswitchinterval(before)
    assert not any(one.is_alive() for one in threads), "two threads wait for each other"
    return found


@pytest.mark.parametrize(
    ("one", "other", "runs"),
    [
        (COORDINATES, BENCH, 2),
        pytest.param(COORDINATES, READINGS, 230, marks=pytest.mark.study),
        pytest.param(DEMO, TO_CUT, 20, marks=pytest.mark.study),
    ],
)
def test_two_jobs_in_two_threads_answer_as_each_alone(one: Path, other: Path, runs: int) -> None:
    alone = [all_of(load(one)), all_of(load(other))]
    for run in range(runs):
        order = ANSWERS[:: 1 if run % 2 else -1]  # so that they work at other things at the same time
        assert at_once(run, lambda: all_of(load(one)), lambda: all_of(load(other), order)) == alone  # noqa: B023


@pytest.mark.parametrize(
    ("path", "runs"),
    [
        (COORDINATES, 2),
        *(pytest.param(path, 125, marks=pytest.mark.study) for path in (DEMO, READINGS)),
    ],
)
def test_one_job_asked_from_two_threads_answers_as_alone(path: Path, runs: int) -> None:
    alone = all_of(load(path))
    for run in range(runs):
        job, order = load(path), ANSWERS[:: 1 if run % 2 else -1]
        assert at_once(run, lambda: all_of(job), lambda: all_of(job, order)) == [alone, alone]  # noqa: B023

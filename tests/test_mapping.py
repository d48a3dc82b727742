"""The flat mapping: what is remembered of one, and that nothing is of one that can be changed."""

from __future__ import annotations

import copy
import pickle
from threading import Thread

import numpy as np
import pytest
from tallstack.geometry import build, required
from tallstack.geometry.core.mapping import Frozen, Reader, frozen, kept
from tallstack.geometry.engine.defaults import completed

from .oracles import raw_loop
from .oracles.random_trains import TRAIN, random_mapping


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

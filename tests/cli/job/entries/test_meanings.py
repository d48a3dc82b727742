"""What an entry means, by its path."""

from __future__ import annotations

import pytest
from tallstack.cli.job.entries.catalogue import owned
from tallstack.cli.job.entries.meanings import meant


@pytest.mark.parametrize(
    ("path", "owner", "words"),
    [
        ("front.spigot.length", "front", "CD: spigot below the case deck"),
        ("spigot.length", "", "CD: spigot below the case deck"),
        ("front.intake_face.centre", "front", "CP, CQ, CR: centre of the port's face, head frame"),
        (
            "front.spigot.reliefs.0.width",
            "front",
            "CW: chord at the bore, its sides towards the bore's axis; of a slot with parallel sides its width times bore "
            "by outer diameter",
        ),
        ("front.stack.cylinder", "front", "B: cylinder, base face to top face"),
        ("front.intake.lifter.lash", "front.intake", "BT: wanted lash of a solid lifter"),
        ("front.intake.spring.1.rate", "front.intake", "rate"),
        ("lifter.lash", "", "BT: wanted lash of a solid lifter"),
        ("instrument.mic A.zero", "", "how far its zero may be off"),
        ("reading.0.stack.cylinder", "", "cylinder, base face to top face"),
        ("materials.case", "", "material of the case"),
    ],
)
def test_an_entry_has_its_words_by_its_path_with_and_without_its_owner(
    path: str, owner: str, words: str
) -> None:
    assert owned(path)[0] == owner
    assert meant(path) == f"{path} ({words})"


def test_the_centreline_reads_rightly_for_either_lobe() -> None:
    assert meant("lobe.exhaust.centreline").endswith(
        "(crank degrees of an intake after, of an exhaust before overlap top centre)"
    )

"""A lobe as read with dial and degree wheel: a CSV table with the columns angle and lift."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from tallstack.cli.jobfile.job import JobFile
from tallstack.cli.tablefile import fault_at, number_in, read_table
from tallstack.geometry.events import Readings

COLUMNS = ("angle", "lift")
FEWEST = 8  # readings, before a lobe has a shape
INCH = 25.4


def lobe_readings(job: JobFile) -> dict[str, Readings]:
    """Return the readings of every lobe that has a table, by lobe."""
    names = (
        path.split(".")[1] for path in job.entries if path.startswith("lobe.") and path.endswith(".table")
    )
    return {name: load_lobe(job, name) for name in names}


def load_lobe(job: JobFile, name: str) -> Readings:
    """Return one lobe's readings, crank angles ascending; a faulty table raises InputFaultsError."""

    def said(entry: str, default: str) -> str:
        found = job.entries.get(f"lobe.{name}.{entry}")
        return default if found is None else str(found.value)

    path = Path(job.path.parent, said("table", ""))
    table = read_table(path, COLUMNS, COLUMNS, "a lobe table")
    faults, pairs = [], {}
    for row in table.rows:
        numbers = []
        for column in COLUMNS:
            try:
                numbers.append(number_in(row, column))
            except ValueError as error:
                faults.append(fault_at(row.line, column, str(error)))
        if len(numbers) == len(COLUMNS):
            if numbers[0] in pairs:
                faults.append(fault_at(row.line, "angle", f"{numbers[0]:g} degrees is there twice"))
            pairs[numbers[0]] = numbers[1]
    if not faults and len(pairs) < FEWEST:
        faults.append(fault_at(1, "", f"{len(pairs)} readings; a lobe needs at least {FEWEST}"))
    if faults:
        raise table.refused(faults)
    angles = np.array(sorted(pairs))
    lifts = np.array([pairs[angle] for angle in angles])
    turns = 1.0 if said("angle", "cam") == "crank" else 2.0
    scale = INCH if said("units", job.units) == "in" else 1.0
    return Readings(np.radians(angles * turns), lifts * scale)

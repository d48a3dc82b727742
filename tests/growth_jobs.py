"""Jobs as large as a file may be: cylinders, rows of a lobe's and of a crown's table, readings, pushrods on a shelf.

All are made of the demo's twin, every number a little other than its neighbour's, so that nothing is the same twice.
"""

from __future__ import annotations

from pathlib import Path

from .clearance_jobs import BY_COORDINATES, POCKETS
from .commands import DEMO, FROM_READINGS

TEXT = DEMO.read_text(encoding="utf-8")
HEAD, LOBES, TARGETS = (
    TEXT[TEXT.index(begins) : TEXT.index(ends)]
    for begins, ends in (
        ("format", "[[cylinder]]"),
        ("[lobe.intake]", "# Four valve"),
        ("[targets]", "# Checks made"),
    )
)
FIRST, EXHAUST, INTAKE = (f"[[train]]{one}" for one in TEXT.split("[targets]")[0].split("[[train]]")[1:4])
READ = (
    '[[reading]]\nof = "deck"\ncylinder = "{of}"\nvalue = "0.0{deck}{last} +/- 0.002 in"\n',
    '[[reading]]\nof = "chamber"\ncylinder = "{of}"\nvolume = "92.{last} +/- 0.5 cc"\n',
    '[[reading]]\nof = "valve lift"\ntrain = "{of}.intake"\nlifter_lift = "0.3 in"\nvalue = "0.48{last} +/- 0.004 in"\n',
)


def cylinders(count: int, spigots: bool = False, readings: int = 0) -> str:
    """Return a job of so many cylinders, two and two in a V, each with two valve gears read for themselves.

    spigots  : every one has its own, so that its piston and rod are held against the others
    readings : checks on the bench beside them
    """
    rows = []
    for index in range(count):
        lean, offset = -29 if index % 2 else 29, 5.0 * (index // 2) + 0.001 * index
        rows.append(f'[[cylinder]]\nname = "c{index}"\nlean = "{lean} +/- 0.1"\n')
        rows.append(f'offset = "{offset:.3f} +/- 0.01 in"\n' if index > 1 else "")
        rows.append(f"fires_at = {302 * (index % 2) + 360 * (index % 4 > 1)}\n" if index else "")
        size = f'length = "{1.12 + 0.01 * index:.2f} +/- 0.01 in", outer_diameter = "{4.11 - 0.001 * index:.3f} +/- 0.005 in"'
        rows.append(f"spigot = {{ {size} }}\n" if spigots else "")
    rows.append(LOBES)
    for index in range(count):
        for gear, was in ((INTAKE if index else FIRST, "rear" if index else "front"), (EXHAUST, "front")):
            own = gear.replace(f'cylinder = "{was}"', f'cylinder = "c{index}"', 1)
            own = own.replace('like = "front.intake"', 'like = "c0.intake"')
            rows.append(own.replace('drop = "0.', f'drop = "0.{1 + index % 7}', 1))
    checks = [
        READ[index % 3].format(of=f"c{index % 2}", deck=41 if index % 2 else 13, last=index % 10)
        for index in range(readings)
    ]
    return "".join([HEAD, *rows, TARGETS, *checks])


def with_lobes(folder: Path, rows: int) -> Path:
    """Write a job whose two lobes were read at so many angles, and return its path."""
    import numpy as np

    rng, angle = np.random.default_rng(rows), np.linspace(0, 360, rows, endpoint=False)
    for port, peak in (("intake", 7.5), ("exhaust", 7.2)):
        lift = peak * (1 - np.clip(np.abs(angle - 180) / 70, 0, 1) ** 2) ** 4 + rng.normal(0, 0.003, rows)
        lines = [f"{at:.4f},{one / 25.4:.5f}" for at, one in zip(angle, lift, strict=True)]
        (folder / f"{port}.csv").write_text("\n".join(["angle,lift", *lines]) + "\n", encoding="utf-8")
    path = folder / "job.toml"
    path.write_text((FROM_READINGS / "job.toml").read_text(encoding="utf-8"), encoding="utf-8")
    return path


def with_crown(folder: Path, heights: int) -> Path:
    """Write a job by coordinates whose crown was read at about so many places, no more, and return its path."""
    import numpy as np

    across = np.linspace(-45.5, 45.5, int(np.sqrt(heights * 4 / np.pi)))
    x, y = (one.ravel() for one in np.meshgrid(across, across))
    within = np.hypot(x, y) < 45.6
    x, y = x[within], y[within]
    z = -4 * (np.exp(-((x - 18) ** 2 + y**2) / 300) + np.exp(-((x + 18) ** 2 + y**2) / 300))
    lines = [",".join(f"{one:.3f}" for one in place) for place in zip(x, y, z, strict=True)]
    (folder / "crown.csv").write_text("\n".join(["x,y,height", *lines]) + "\n", encoding="utf-8")
    text = BY_COORDINATES.replace("compression_height =", 'crown_table = "crown.csv"\ncompression_height =')
    for name in POCKETS:
        text = text.replace(name, "")
    path = folder / "crown.toml"
    path.write_text(text, encoding="utf-8")
    return path


def shelf(folder: Path, rods: int) -> Path:
    """Write a shelf of so many kinds of pushrod, every second one adjustable, and return its path."""
    rows = [
        f"screw {index},adjustable,,{10.3 + 0.3 * index / rods:.4f},{10.7 + 0.3 * index / rods:.4f},overall,in,5/16,24,6,3/8,0.083,2"
        if index % 2
        else f"rod {index},fixed,{10.4 + 0.5 * index / rods:.4f},,,overall,in,5/16,,,5/16,0.080,{1 + index % 3}"
        for index in range(rods)
    ]
    head = (
        "label,kind,length,shortest,longest,as,units,ball_diameter,threads_per_inch,flats,diameter,wall,count"
    )
    path = folder / "shelf.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path

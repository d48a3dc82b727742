"""Makes the pictures of the page about the bench, as the tests' browser shows it.

    python -m tests.bench_pictures          writes them anew: look at each

They are of the demo's twin, and of today's browser and letters: no two browsers draw the same bytes.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from .cli.bench.in_browser import Opened, chromium, served
from .cli.bench.jobs import twin
from .commands import DEMO, EXAMPLES

PAGE = EXAMPLES / "at_the_bench"
SHOWN = {  # picture → screen, and how wide and high it is
    "stack": ("stack", 1280, 880),
    "rod": ("rod/front.intake", 820, 1400),
    "drop": ("drop/front.intake", 1280, 880),
    "set": ("set/front.intake", 1280, 1100),
}


def made() -> dict[str, bytes]:
    """Return every picture by its name."""
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        twin(Path(folder))
        for beside in ("twin.record.csv", "shelf.csv"):
            (Path(folder) / beside).write_bytes(DEMO.with_name(beside).read_bytes())
        with served(Path(folder)) as address, chromium() as browser:
            here = Opened(browser, f"{address}/jobs/twin/stack")
            here.until("document.querySelectorAll('.closest:not(.stale)').length === 4")
            here.until("document.querySelector('#stop').textContent.includes('SHORT')")
            for name, (screen, wide, high) in SHOWN.items():
                here.page.set_viewport_size({"width": wide, "height": high})
                here.page.goto(f"{address}/jobs/twin/{screen}")
                here.page.wait_for_timeout(300)
                found[name] = here.page.screenshot()
    return found


if __name__ == "__main__":
    for name, picture in made().items():
        (PAGE / f"{name}.png").write_bytes(picture)
        print(PAGE / f"{name}.png")

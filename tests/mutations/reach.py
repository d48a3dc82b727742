"""Which tests run which line: from a coverage file with contexts and the durations of a run."""

from __future__ import annotations

import re
from collections import defaultdict
from itertools import zip_longest
from pathlib import Path

from coverage import CoverageData  # type: ignore[import-not-found]

TOOK = re.compile(r"^([\d.]+)s call +(\S.*)$")
PACKAGE = re.compile(
    r"(?<!tests/)(?:geometry|cli)/(?!.*/(?:geometry|cli)/).*$"
)  # from where a file's path in the repository begins
QUICK = 0.005  # seconds, of a test that the run did not list


class Reach:
    """Tests by the lines that they run."""

    def __init__(self, data: Path, log: Path) -> None:
        self.took = {
            found[2]: float(found[1])
            for line in log.read_text(encoding="utf-8").splitlines()
            if (found := TOOK.match(line))
        }
        covered = CoverageData(basename=str(data))
        covered.read()
        self.lines: dict[str, dict[int, set[str]]] = {}
        for file in covered.measured_files():
            by_line = covered.contexts_by_lineno(file) if not covered.set_query_contexts(None) else {}
            name = PACKAGE.search(file)
            if name is None:
                continue
            self.lines[name[0]] = {
                line: {one.removesuffix("|run") for one in contexts if one.endswith("|run")}
                for line, contexts in by_line.items()
            }

    def tests(self, path: str, first: int, last: int, seconds: float) -> list[str]:
        """Return the tests to try an error of these lines with, most telling first, of so many seconds at most.

        A line that ran only while its module was loaded is tried with every test that runs anything of the module.
        """
        lines = self.lines.get(path, {})
        there = set[str]().union(*(lines.get(line, set()) for line in range(first, last + 1)))
        there = there or set[str]().union(*lines.values())
        by_file: dict[str, list[str]] = defaultdict(list)
        for one in sorted(there, key=lambda one: (self.took.get(one, QUICK), one)):
            by_file[one.partition("::")[0]].append(one)
        near = Path(path).stem.split("_")[0]
        files = sorted(
            by_file, key=lambda file: (near not in file, self.took.get(by_file[file][0], QUICK), file)
        )
        chosen, spent = list[str](), 0.0
        for row in zip_longest(*(by_file[file] for file in files)):
            for one in row:
                if one is not None and spent + self.took.get(one, QUICK) <= seconds:
                    chosen.append(one)
                    spent += self.took.get(one, QUICK)
        return chosen

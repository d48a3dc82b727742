"""What may stand in a job file: every table, every entry, its meaning and its bounds.

Every entry is optional until an answer needs it, but for the names that tie the file together.
What entries mean together is decided in `checks`.

The model is plain data, read in one walk (`reading.document`). One of forty pydantic classes stood here first: it
took 132 ms of every start, against 43 ms now, and after one misspelling its passes blamed entries that were well.
What the walk has to do, did-you-mean, where a misplaced entry belongs, every fault at once, none of them twice, was
ours to write either way.
"""

from tallstack.geometry.core.targets import SHARE, Target
from tallstack.geometry.core.targets import TARGETS as WISHES

from ..reading.values import Dimension
from .before_tables import BEFORE
from .bench_tables import READING
from .engine_tables import (
    CHAMBER,
    CRANK,
    CYLINDER,
    INSTRUMENT,
    MATERIALS,
    OVERSIZE,
    PISTON,
    RUNNING,
    STACK,
    STUDS,
)
from .fields import Choice, FileName, Format, Percent, Quantity, Several, Sign, Text, Way, Ways
from .gear_tables import TRAIN
from .lobe_tables import CAM, LOBE
from .tables import Named, Rows, Table, measure, number, target
from .wanted import WANTED


def wish(one: Target) -> Quantity:
    """Return the entry of a limit or another wish."""
    ways = []
    if one.share_of:
        share = Percent(f"share of the {one.share_of.rpartition('.')[2].replace('_', ' ')}", wish=True)
        ways.append(Way(r"(.+?)\s*%", share, SHARE, '"10 %"'))
    if one.words_too:
        words = Choice(one.words, one.words_too, wish=True)
        ways.append(
            Way(f"({'|'.join(one.words_too)})", words, "", " or ".join(f'"{word}"' for word in one.words_too))
        )
    if ways:
        return Ways(
            one.words,
            *ways,
            dimension=Dimension.LENGTH,
            sign=Sign.ZERO_UP,
            usual=one.usual,
            below=2000.0,
            wish=True,
        )
    if one.unit == "mm":
        return target(one.words, *one.usual)
    if one.unit == "n":
        return measure(one.words, Dimension.FORCE, *one.usual, wish=True)
    return number(one.words, *one.usual, wish=True)


TARGETS = Table(
    "Limits; where one is not set, common practice is named beside the verdict.",
    **{one.name: wish(one) for one in WISHES},
)

VERSIONS = ("0.1", "0.2", "0.3", "0.4", "0.5", "0.6")  # in which answers to one file differ, the newest last

JOB = Table(
    "One engine on the bench.",
    ("format", "units"),
    format=Format("format of the job file", tool=""),
    title=Text("title of the job", tool=""),
    written_for=Choice(
        "the version it was written for; check says what is judged differently since", VERSIONS, tool=""
    ),
    units=Choice("units of bare numbers", ("mm", "in"), tool=""),
    wanted=Several("what is to be found out: what is asked and listed for it", tuple(WANTED), tool=""),
    shelf=FileName("the pushrods you have, CSV with one kind a line; --shelf goes over it", tool=""),
    record=FileName(
        "where it is written down what was set, CSV; without it NAME.record.csv beside NAME.toml",
        is_made=True,
        tool="",
    ),
    crank=CRANK,
    piston=PISTON,
    stack=STACK,
    chamber=CHAMBER,
    cylinder=Rows(CYLINDER),
    lobe=Named(LOBE),
    cam=CAM,
    train=Rows(TRAIN),
    targets=TARGETS,
    running=RUNNING,
    materials=MATERIALS,
    studs=STUDS,
    instrument=Rows(INSTRUMENT),
    reading=Rows(READING),
    oversize=OVERSIZE,
    before=BEFORE,
)

# What stood before has the same tables once more: where an entry belongs, and which letters there are, is of these.
NOW = Table(JOB.words, JOB.needs, **{name: part for name, part in JOB.parts.items() if part is not BEFORE})

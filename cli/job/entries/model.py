"""What may stand in a job file: every table, every entry, its meaning and its bounds.

Every entry is optional until an answer needs it, but for the names that tie the file together.
What entries mean together is decided in `checks`.

The model is plain data, read in one walk (`reading.document`). One of forty pydantic classes stood here first: it
took 132 ms of every start, against 43 ms now, and after one misspelling its passes blamed entries that were well.
What the walk has to do, did-you-mean, where a misplaced entry belongs, every fault at once, none of them twice, was
ours to write either way.
"""

from ..reading.values import Dimension
from .bench_tables import READING
from .engine_tables import CHAMBER, CRANK, CYLINDER, INSTRUMENT, MATERIALS, PISTON, RUNNING, STACK, STUDS
from .fields import Choice, Format, Text
from .gear_tables import TRAIN
from .lobe_tables import CAM, LOBE
from .tables import Named, Rows, Table, measure, number, target

TARGETS = Table(
    "Limits; where one is not set, common practice is named beside the verdict.",
    drop_intake=target("intake valve to piston", 0.5, 5),
    drop_exhaust=target("exhaust valve to piston", 0.5, 5),
    wall=target("valve to pocket wall", 0.3, 4),
    valve_to_valve=target("valve to valve", 0.3, 4),
    valve_to_bore=target("valve to the cylinder's bore and the gasket", 0.3, 4),
    coil_bind=target("left before the spring's coils meet", 0.3, 4),
    retainer=target("retainer to seal or guide", 0.3, 4),
    squish_least=target("squish, at least", 0.3, 4),
    squish_most=target("squish, at most", 0.3, 4),
    skirt=target("skirt to counterweight and connecting rod", 0.3, 6),
    across=target("piston to the other cylinder's spigot", 0.3, 6),
    lowering=target("room while one cylinder is lowered with the other fitted", 0, 80),
    tube=target("pushrod to its tube", 0.2, 6),
    compression_ratio=number("compression ratio wanted", 6, 14, wish=True),
    seat_force=measure(
        "force of a valve's springs on its seat, wanted", Dimension.FORCE, 150, 1500, wish=True
    ),
    hot_lash=target("lash of a solid lifter, hot, at the valve", 0, 1),
    stud_diameters=number("stud engagement in diameters", 0.5, 4, wish=True),
    preload_least=target("hydraulic preload, at least", 0.05, 4),
    preload_most=target("hydraulic preload, at most", 0.1, 6),
)

VERSIONS = ("0.1", "0.2")  # in which answers to one file differ, the newest last

JOB = Table(
    "One engine on the bench.",
    ("format", "units"),
    format=Format("format of the job file", tool=""),
    title=Text("title of the job", tool=""),
    written_for=Choice(
        "the version it was written for; check says what is judged differently since", VERSIONS, tool=""
    ),
    units=Choice("units of bare numbers", ("mm", "in"), tool=""),
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
)

"""The table of a check made on the bench, laid beside the entries that foretell it."""

from tallstack.geometry.sure.check_kinds import KINDS

from ..reading.values import Dimension
from .engine_tables import THEN_STACK, read_on
from .fields import Choice, Quantity, Sign, Text
from .gear_tables import CONVENTIONS, THEN_PLUNGER
from .tables import Table, millimetres

READING = Table(
    "A check made on the bench, beside the entries that foretell it.",
    of=Choice("what was read", KINDS),
    train=Text("valve gear it was read at, as front.intake"),
    cylinder=Text("cylinder it was read at"),
    other=Text("cylinder on the other side of a port gap"),
    face=Choice("which ports a port gap is between", ("intake", "exhaust")),
    value=millimetres("length that was read", sign=Sign.ANY),
    volume=Quantity("volume that was read", Dimension.VOLUME, Sign.POSITIVE, (8, 250), below=10000),
    lifter_lift=millimetres("lift of the lifter at which the valve's was read", 0, 20, sign=Sign.ZERO_UP),
    at=Quantity(
        "crank degrees after overlap top centre, negative before it",
        Dimension.ANGLE,
        Sign.ANY,
        (-40, 40),
        360.0,
        exact=True,
        tool="degree wheel",
    ),
    plunger=THEN_PLUNGER,
    stack=THEN_STACK,
    on=read_on(),
    **{"as": Choice("how a pushrod's length was read", CONVENTIONS)},
)

"""What may stand in a job file: every table, every entry, its meaning and its bounds.

The model says what each entry is; what entries mean together is decided in `contents`. Every entry
is optional until an answer needs it, but for the names that tie the file together.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag
from tallstack.cli.jobfile.fields import Choice, FileName, Parts, Quantity, Sign, Text
from tallstack.cli.jobfile.values import Blank, Dimension, Value

One = Value | Blank | None
Row = tuple[Value, ...] | Blank | None
Word = str | Blank | None

TABLES = (
    "format",
    "title",
    "units",
    "crank",
    "piston",
    "stack",
    "chamber",
    "cylinder",
    "lobe",
    "cam",
    "train",
)
PORTS = ("intake", "exhaust")
PLUNGER_PLACES = ("top", "bottomed", "solid checking lifter")
CONVENTIONS = ("overall", "theoretical", "gauge", "centres")
ADJUSTERS = ("none", "pushrod screw", "valve screw", "pivot nut", "lifter screw", "eccentric shaft")
LAWS = ("cycloidal", "3-4-5", "4-5-6-7", "modified-sine")


def _mm(words: str, *usual: float, sign: Sign = Sign.POSITIVE, wish: bool = False) -> Quantity:
    low_high = (usual[0], usual[1]) if usual else None
    return Quantity(words, Dimension.LENGTH, sign, low_high, below=2000.0, wish=wish)


def _deg(words: str, *usual: float, below: float = 720.0, sign: Sign = Sign.ANY) -> Quantity:
    return Quantity(words, Dimension.ANGLE, sign, (usual[0], usual[1]) if usual else None, below)


def _number(words: str, *usual: float, wish: bool = False, sign: Sign = Sign.POSITIVE) -> Quantity:
    low_high = (usual[0], usual[1]) if usual else None
    return Quantity(words, Dimension.NUMBER, sign, low_high, below=10000.0, wish=wish)


def _target(words: str, *usual: float) -> Quantity:
    return _mm(words, *usual, sign=Sign.ZERO_UP, wish=True)


def _point(words: str) -> Parts:
    return Parts(words, (3,), Dimension.LENGTH, below=2000.0)


def _place(words: str) -> Parts:
    return Parts(words, (2,), Dimension.LENGTH, below=2000.0)


def _lean_pair(words: str) -> Parts:
    return Parts(words, (2,), Dimension.ANGLE, below=80.0)


def _direction(words: str) -> Parts:
    return Parts(words, (2, 3), Dimension.NUMBER)


def _table_or_word(raw: Any) -> str:
    return "~table" if isinstance(raw, dict) else "~word"


def _table_or_list(raw: Any) -> str:
    return "~list" if isinstance(raw, list) else "~table"


class Table(BaseModel):
    """A table of the job file: unknown entries are faults."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True, defer_build=True)


class Crank(Table):
    """The crank and what turns with it."""

    stroke: Annotated[One, _mm("stroke, twice the throw", 30, 160)] = None
    conrod_length: Annotated[One, _mm("connecting rod, centre to centre", 70, 300)] = None
    turns: Annotated[
        Word,
        Choice('"forward": just after top centre the crank pin moves towards +x', ("forward", "backward")),
    ] = None
    counterweight_radius: Annotated[One, _mm("counterweight's outer radius", 30, 150)] = None
    conrod_beam_width: Annotated[
        One, _mm("across the connecting rod's beam, in the plane of swing", 8, 60)
    ] = None


class Dome(Table):
    """A spherical dome on the crown."""

    height: Annotated[One, _mm("top of the dome above the crown plane", 0.2, 25)] = None
    diameter: Annotated[One, _mm("the dome's edge at the crown plane", 20, 150)] = None


class Dish(Table):
    """A spherical dish in the crown."""

    depth: Annotated[One, _mm("bottom of the dish below the crown plane", 0.2, 25)] = None
    diameter: Annotated[One, _mm("the dish's edge at the crown plane", 20, 150)] = None


class Piston(Table):
    """The piston, from the pin outwards."""

    compression_height: Annotated[One, _mm("pin axis to crown plane", 15, 70)] = None
    pin_offset: Annotated[One, _mm("wrist pin off the cylinder axis, towards +x", -5, 5, sign=Sign.ANY)] = (
        None
    )
    crown_thickness: Annotated[One, _mm("metal under the thinnest place a pocket would be cut", 2, 20)] = None
    ring_land: Annotated[One, _mm("crown edge down to the top ring groove", 2, 20)] = None
    dome: Dome | None = None
    dish: Dish | None = None
    crown_table: Annotated[Word, FileName("table of measured crown heights, CSV")] = None
    diameter: Annotated[One, _mm("the skirt's diameter", 30, 150)] = None
    skirt_below_pin: Annotated[One, _mm("lower edge of the skirt below the pin axis", 5, 80)] = None
    skirt_inner: Annotated[One, _mm("inside width of the skirt in the plane of swing", 20, 145)] = None
    crown_volume: Annotated[
        One,
        Quantity("pockets and dish positive, dome negative", Dimension.VOLUME, usual=(-60, 60), below=10000),
    ] = None


class UnderPiston(Table):
    """How far the crown stood below the cylinder's top face at top centre."""

    below: Annotated[One, _mm("crown below the cylinder's top face at top centre", -3, 8, sign=Sign.ANY)] = (
        None
    )


class ThenStack(Table):
    """The parts of the stack that were in place when a reading was taken."""

    base_gasket: Annotated[One, _mm("base gasket as compressed", 0.05, 6, sign=Sign.ZERO_UP)] = None
    cylinder: Annotated[One, _mm("cylinder, base face to top face", 50, 260)] = None
    head_gasket: Annotated[One, _mm("head gasket as compressed", 0.05, 6, sign=Sign.ZERO_UP)] = None
    case_cut: Annotated[One, _mm("metal removed from the case deck", 0, 4, sign=Sign.ZERO_UP)] = None
    head_cut: Annotated[One, _mm("metal removed from the head's gasket face", 0, 4, sign=Sign.ZERO_UP)] = None


class Stack(ThenStack):
    """From the crank centre outwards."""

    bore: Annotated[One, _mm("bore", 35, 150)] = None
    case_deck: Annotated[
        One, _mm("case deck above the crank centre, as it was when points were measured", 50, 350)
    ] = None
    measured_deck: UnderPiston | None = None


class Chamber(Table):
    """The combustion chamber."""

    volume: Annotated[
        One, Quantity("chamber in the head", Dimension.VOLUME, Sign.POSITIVE, (8, 250), below=10000)
    ] = None
    gasket_bore: Annotated[One, _mm("bore of the head gasket", 35, 155)] = None


class Relief(Table):
    """A relief cut in a spigot."""

    at: Annotated[One, _deg("middle of the relief around the bore, from +x towards +y")] = None
    width: Annotated[One, _mm("chord at the bore", 5, 150)] = None
    height: Annotated[One, _mm("up from the spigot's lower edge", 1, 80)] = None


class Spigot(Table):
    """The cylinder's spigot, a tube from the case deck down."""

    length: Annotated[One, _mm("spigot below the case deck", 3, 120)] = None
    outer_diameter: Annotated[One, _mm("spigot's outer diameter", 40, 180)] = None
    reliefs: list[Relief] = []


class Face(Table):
    """A port's face on the head."""

    centre: Annotated[Row, _point("centre of the port's face, head frame")] = None
    normal: Annotated[Row, _direction("square to the face, out of the head")] = None


class Cylinder(Table):
    """One cylinder and where it differs from the others."""

    name: Annotated[str, Text("name of the cylinder", name=True, reserved=(*TABLES, "targets"))]
    lean: Annotated[One, _deg("lean of the axis from upright, positive forward", below=180)] = None
    offset: Annotated[One, _mm("along the crankshaft", -200, 200, sign=Sign.ANY)] = None
    pin: Annotated[One, _deg("crank pin's angle to the first cylinder's pin")] = None
    fires_at: Annotated[One, _deg("crank degrees after the first cylinder fires", 0, 720, below=720.5)] = None
    stack: Stack | None = None
    piston: Piston | None = None
    chamber: Chamber | None = None
    spigot: Spigot | None = None
    intake_face: Face | None = None
    exhaust_face: Face | None = None
    points: dict[str, Annotated[Row, _point("a named point in the head frame")]] = {}


class Duration(Table):
    """Degrees of crank between opening and closing at a check lift."""

    at: Annotated[One, _mm("check lift", 0.02, 3)] = None
    degrees: Annotated[One, _deg("crank degrees open above the check lift", 100, 420, sign=Sign.POSITIVE)] = (
        None
    )


class Events(Table):
    """Opening and closing at a check lift, as a timing card gives them."""

    at: Annotated[One, _mm("check lift", 0.02, 3)] = None
    opens: Annotated[One, _deg("intake: before top centre; exhaust: before bottom centre", -60, 120)] = None
    closes: Annotated[One, _deg("intake: after bottom centre; exhaust: after top centre", -60, 120)] = None


Durations = Annotated[
    Annotated[Duration, Tag("~table")] | Annotated[list[Duration], Tag("~list")],
    Discriminator(_table_or_list),
]


class Card(Table):
    """The numbers on a timing card."""

    peak: Annotated[One, _mm("peak lift", 2, 20)] = None
    duration: Durations | None = None
    seat: Duration | None = None
    events: Events | None = None
    ratio: Annotated[One, _number("rocker ratio behind lifts given at the valve", 0.8, 2.5)] = None
    lash: Annotated[One, _mm("lash behind lifts given at the valve", 0, 1, sign=Sign.ZERO_UP)] = None


class Law(Table):
    """A standard motion law."""

    name: Annotated[Word, Choice("motion law", LAWS)] = None
    peak: Annotated[One, _mm("peak lift", 2, 20)] = None
    degrees: Annotated[One, _deg("crank degrees, seat to seat", 150, 420, sign=Sign.POSITIVE)] = None


class Lobe(Table):
    """One lobe: a table of readings, a timing card or a motion law."""

    table: Annotated[Word, FileName("table of readings, CSV with angle and lift")] = None
    card: Card | None = None
    law: Law | None = None
    measured_at: Annotated[Word, Choice("where the lifts were read", ("lifter", "valve"))] = None
    angle: Annotated[Word, Choice("whose degrees the table counts", ("cam", "crank"))] = None
    units: Annotated[Word, Choice("units of the table's lifts", ("mm", "in"))] = None
    zero: Annotated[Word, Choice("where the table's angle is 0", ("peak", "top centre"))] = None
    centreline: Annotated[
        One, _deg("crank degrees after overlap top centre; exhaust: before it", 80, 130, below=360)
    ] = None


class Cam(Table):
    """The cam's place on the crank."""

    advance: Annotated[One, _deg("crank degrees, positive makes both valves earlier", -15, 15, below=90)] = (
        None
    )


class LifterTable(Table):
    """The lifter."""

    kind: Annotated[Word, Choice("kind of lifter", ("hydraulic", "solid"))] = None
    seat: Annotated[
        Row,
        _point(
            "pushrod's lower ball centre, lifter on the base circle, plunger at its top stop, from the case deck"
        ),
    ] = None
    lean: Annotated[Row, _lean_pair("the lifter's lean")] = None
    lowered: Annotated[
        One, _mm("seat moved back since: smaller base circle, shorter lifter", 0, 6, sign=Sign.ANY)
    ] = None
    plunger_travel: Annotated[One, _mm("plunger, top stop to bottom", 1, 8)] = None
    preload: Annotated[One, _mm("wanted: plunger below its top stop", 0, 4, sign=Sign.ZERO_UP, wish=True)] = (
        None
    )
    lash: Annotated[One, _mm("wanted lash of a solid lifter", 0, 1, sign=Sign.ZERO_UP, wish=True)] = None
    lash_at: Annotated[Word, Choice("where the feeler goes", ("valve", "pushrod"))] = None


class Adjuster(Table):
    """The rocker's adjuster."""

    kind: Annotated[Word, Choice("kind of adjuster", ADJUSTERS)] = None
    threads_per_inch: Annotated[One, _number("threads per inch", 10, 48, wish=True)] = None
    pitch: Annotated[One, _mm("travel for one turn", 0.5, 2.5, wish=True)] = None
    flats: Annotated[One, _number("flats of the nut", 4, 12, wish=True)] = None
    axis: Annotated[Row, _lean_pair("lean of the screw's axis")] = None


class Rocker(Table):
    """The rocker on its shaft."""

    shaft: Annotated[Row, _point("a point on the rocker shaft's axis, from the head's gasket face")] = None
    direction: Annotated[Row, _direction("along the shaft; stations count this way")] = None
    valve_arm: Annotated[One, _mm("shaft axis to contact centre", 12, 80)] = None
    pushrod_arm: Annotated[One, _mm("shaft axis to the cup's ball centre", 8, 60)] = None
    ratio: Annotated[One, _number("valve arm over pushrod arm", 0.8, 2.5)] = None
    cup: Annotated[Row, _point("the cup's ball centre with the valve closed")] = None
    arm_angle: Annotated[
        One, _deg("between the arms on the underside, 180 straight", 90, 220, below=360, sign=Sign.POSITIVE)
    ] = None
    span: Annotated[One, _mm("contact centre to cup ball centre, square to the shaft", 20, 130)] = None
    arms: Annotated[Word, Choice("whether both arms droop towards the head or rise", ("droop", "rise"))] = (
        None
    )
    valve_station: Annotated[
        One, _mm("valve arm along the shaft from its point", -100, 100, sign=Sign.ANY)
    ] = None
    pushrod_station: Annotated[
        One, _mm("pushrod arm along the shaft from its point", -100, 100, sign=Sign.ANY)
    ] = None
    tip_radius: Annotated[One, _mm("radius of roller, pad crown or foot", 2, 40)] = None
    adjuster: Adjuster | None = None


class Valve(Table):
    """The valve."""

    face: Annotated[Row, _point("centre of the valve's lower face, closed, from the head's gasket face")] = (
        None
    )
    lean: Annotated[Row, _lean_pair("the stem's lean, out of the chamber")] = None
    length: Annotated[One, _mm("face to stem tip", 60, 220)] = None
    tip_height: Annotated[One, _mm("stem tip's centre above the head's gasket face", 40, 300)] = None
    head_diameter: Annotated[One, _mm("valve head", 15, 75)] = None
    margin: Annotated[One, _mm("margin of the head", 0.3, 4)] = None
    stem_diameter: Annotated[One, _mm("stem", 4, 14)] = None
    sink: Annotated[One, _mm("moved into the head along its stem since", 0, 3, sign=Sign.ANY)] = None


class Pocket(Table):
    """The cut in the crown under this valve."""

    centre: Annotated[Row, _place("where the pocket's axis meets the crown plane")] = None
    deepest: Annotated[Row, _place("where the cutter went deepest, seen from above")] = None
    lean: Annotated[Row, _lean_pair("the cutter's axis, out of the crown")] = None
    diameter: Annotated[One, _mm("the cut", 15, 80)] = None
    depth: Annotated[One, _mm("deepest point below the crown plane", 0.2, 15)] = None


class RodEnds(Table):
    """The ends of a pushrod."""

    ball_diameter_low: Annotated[One, _mm("ball in the lifter", 5, 13)] = None
    ball_diameter_high: Annotated[One, _mm("ball in the rocker", 5, 13)] = None
    hole_low: Annotated[One, _mm("oil hole in the lower ball, 0 for none", 0, 5, sign=Sign.ZERO_UP)] = None
    hole_high: Annotated[One, _mm("oil hole in the upper ball, 0 for none", 0, 5, sign=Sign.ZERO_UP)] = None
    end_low: Annotated[Word, Choice("lower end", ("ball", "cup"))] = None
    end_high: Annotated[Word, Choice("upper end", ("ball", "cup"))] = None
    cup_rim: Annotated[One, _mm("a cup's lip above its ball centre", -4, 8, sign=Sign.ANY)] = None
    gauge: Annotated[One, _mm("diameter of the gauge's sharp-edged seats", 1, 8)] = None


class Pushrod(RodEnds):
    """The pushrod to be ordered."""

    diameter: Annotated[One, _mm("tube's outer diameter", 5, 16)] = None
    wall: Annotated[One, _mm("tube's wall", 0.5, 5)] = None
    material: Annotated[Word, Text("material of the tube")] = None


class CheckingRod(Table):
    """An adjustable checking pushrod and where it was turned to."""

    closed: Annotated[One, _mm("length screwed fully together", 80, 400)] = None
    turns: Annotated[One, _number("turns out from fully together", 0, 40, sign=Sign.ZERO_UP)] = None
    threads_per_inch: Annotated[One, _number("threads per inch", 10, 48, wish=True)] = None
    pitch: Annotated[One, _mm("travel for one turn", 0.5, 2.5, wish=True)] = None


class Down(Table):
    """The plunger held down by a known amount."""

    down: Annotated[One, _mm("plunger below its top stop", 0, 8, sign=Sign.ZERO_UP)] = None


class ThenLifter(Table):
    """The lifter as it was when the pushrod was measured."""

    lowered: Annotated[One, _mm("lifter.lowered, then", 0, 6, sign=Sign.ANY)] = None


class ThenValve(Table):
    """The valve as it was when the pushrod was measured."""

    sink: Annotated[One, _mm("valve.sink, then", 0, 3, sign=Sign.ANY)] = None


Plunger = Annotated[
    Annotated[Down, Tag("~table")]
    | Annotated[Word, Choice("where the hydraulic plunger was", PLUNGER_PLACES), Tag("~word")],
    Discriminator(_table_or_word),
]


class MeasuredPushrod(RodEnds):
    """One pushrod measured on the mock-up: touching, no lash, no preload."""

    length: Annotated[One, _mm("length as read", 80, 400)] = None
    checking_rod: CheckingRod | None = None
    as_: Annotated[Word, Choice("how the length was read", CONVENTIONS), Field(alias="as")] = None
    plunger: Plunger | None = None
    lean: Annotated[
        One | Row,
        Parts(
            "lean of the pushrod to the cylinder axis: the whole angle, or two views",
            (2,),
            Dimension.ANGLE,
            80.0,
            True,
        ),
    ] = None
    stack: ThenStack | None = None
    lifter: ThenLifter | None = None
    valve: ThenValve | None = None


class MeasuredDrop(Table):
    """One closed valve pushed down at top centre until it touched."""

    drop: Annotated[One, _mm("valve pushed down until it touched", 0, 25, sign=Sign.ZERO_UP)] = None
    lean: Annotated[
        One, _deg("the stem's whole lean to the cylinder axis", 0, 45, below=80, sign=Sign.ZERO_UP)
    ] = None
    meets: Annotated[Word, Choice("what the valve meets", ("pocket", "crown"))] = None
    room: Annotated[
        One, _mm("rim to pocket wall on the side the valve moves towards", 0, 10, sign=Sign.ZERO_UP)
    ] = None
    stack: ThenStack | None = None
    crank: Crank | None = None
    piston: Piston | None = None


class Train(Table):
    """One valve gear, from lifter to valve."""

    cylinder: Annotated[str, Text("the cylinder it belongs to", name=True)]
    port: Annotated[str, Choice("intake or exhaust", PORTS)]
    lobe: Annotated[Word, Text("the lobe that moves it; the port's by default", name=True)] = None
    like: Annotated[Word, Text('copy of another valve gear, "front.intake"')] = None
    mirror: bool | None = None
    lifter: LifterTable | None = None
    rocker: Rocker | None = None
    valve: Valve | None = None
    pocket: Pocket | None = None
    pushrod: Pushrod | None = None
    measured_pushrod: MeasuredPushrod | None = None
    measured_drop: MeasuredDrop | None = None


class Targets(Table):
    """Limits; where one is not set, common practice is named beside the verdict."""

    drop_intake: Annotated[One, _target("intake valve to piston", 0.5, 5)] = None
    drop_exhaust: Annotated[One, _target("exhaust valve to piston", 0.5, 5)] = None
    wall: Annotated[One, _target("valve to pocket wall", 0.3, 4)] = None
    valve_to_valve: Annotated[One, _target("valve to valve", 0.3, 4)] = None
    coil_bind: Annotated[One, _target("left before the spring's coils meet", 0.3, 4)] = None
    retainer: Annotated[One, _target("retainer to seal or guide", 0.3, 4)] = None
    squish_least: Annotated[One, _target("squish, at least", 0.3, 4)] = None
    squish_most: Annotated[One, _target("squish, at most", 0.3, 4)] = None
    skirt: Annotated[One, _target("skirt to counterweight and connecting rod", 0.3, 6)] = None
    across: Annotated[One, _target("piston to the other cylinder's spigot", 0.3, 6)] = None
    tube: Annotated[One, _target("pushrod to its tube", 0.2, 6)] = None
    stud_diameters: Annotated[One, _number("stud engagement in diameters", 0.5, 4, wish=True)] = None
    preload_least: Annotated[One, _target("hydraulic preload, at least", 0.05, 4)] = None
    preload_most: Annotated[One, _target("hydraulic preload, at most", 0.1, 6)] = None


class Job(Table):
    """One engine on the bench."""

    format: Literal[1]
    title: Annotated[Word, Text("title of the job")] = None
    units: Annotated[str, Choice("units of bare numbers", ("mm", "in"))]
    crank: Crank | None = None
    piston: Piston | None = None
    stack: Stack | None = None
    chamber: Chamber | None = None
    cylinder: list[Cylinder] = []
    lobe: dict[str, Lobe] = {}
    cam: Cam | None = None
    train: list[Train] = []
    targets: Targets | None = None

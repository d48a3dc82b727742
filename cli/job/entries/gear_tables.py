"""The tables of one valve gear, from lifter to valve, with what was measured on it."""

from ..reading.values import Dimension
from .engine_tables import CRANK, OF_STACK, PISTON, material, read_on
from .fields import Asked, Choice, Name, Parts, Sign, Text, YesNo
from .lobe_tables import MOST_ROLLER
from .tables import (
    Either,
    Rows,
    Table,
    degrees,
    direction,
    lean_pair,
    measure,
    millimetres,
    number,
    place,
    point,
    radius,
    then,
)

PORTS = ("intake", "exhaust")
PLUNGER_PLACES = ("top", "bottomed", "solid checking lifter")
CONVENTIONS = ("overall", "theoretical", "gauge", "centres")
ADJUSTERS = ("none", "pushrod screw", "valve screw", "pivot nut", "lifter screw", "eccentric shaft")

ROLLER = Table(
    "The roller that rides on the lobe.",
    roller=radius("radius of the roller", 4, 30, most=MOST_ROLLER, tool="micrometer over the roller"),
)

LIFTER = Table(
    "The lifter.",
    kind=Choice("kind of lifter", ("hydraulic", "solid")),
    seat=point(
        "pushrod's lower ball centre, lifter on the base circle, plunger at its top stop, from the case deck",
        letters="AA AB AC",
        tool="depth gauge and height gauge",
        asked=Asked.BY_COORDINATES,
        called="lifter's seat",
    ),
    lean=lean_pair(
        "the lifter's lean as it rises, towards +x and towards +y",
        letters="AD AE",
        asked=Asked.BY_COORDINATES,
        called="lifter's lean",
    ),
    lowered=millimetres(
        "seat moved back since: smaller base circle, shorter lifter",
        0,
        6,
        sign=Sign.ANY,
        letters="AF",
        called="lifter lowered",
    ),
    plunger_travel=millimetres(
        "plunger, top stop to bottom", 1, 8, letters="BR", tool="depth gauge", called="plunger's travel"
    ),
    preload=millimetres(
        "wanted: plunger below its top stop",
        0.2,
        4,
        sign=Sign.ZERO_UP,
        letters="BS",
        wish=True,
        tool="the lifter maker's figure",
    ),
    lash=millimetres(
        "wanted lash of a solid lifter",
        0.02,
        1,
        sign=Sign.ZERO_UP,
        letters="BT",
        wish=True,
        tool="the cam maker's figure",
    ),
    lash_at=Choice("where the feeler goes", ("valve", "pushrod"), wish=True),
    follower=Either(ROLLER, Choice("what rides on the lobe", ("flat",))),
    follower_offset=millimetres(
        "how far its line of travel passes the cam's axis, positive on the side from which the lobe comes",
        -15,
        15,
        sign=Sign.ANY,
        tool="the maker's drawing",
    ),
    foot_width=millimetres("flat foot: its width along the lobe's way", 15, 60, tool="calipers"),
    below_deck=millimetres(
        "pushrod's lower ball centre below the case deck, lifter on the heel; negative above it",
        -20,
        60,
        sign=Sign.ANY,
        tool="depth gauge",
        called="lifter's cup below the deck",
    ),
    above_cam=millimetres(
        "cam's axis up to the pushrod's lower ball centre, lifter on the heel",
        30,
        120,
        tool="calipers over lifter and cam",
        called="lifter's cup above the cam",
    ),
)

ADJUSTER = Table(
    "The rocker's adjuster.",
    kind=Choice("kind of adjuster", ADJUSTERS),
    threads_per_inch=number("threads per inch", 10, 48, exact=True, tool="thread gauge"),
    pitch=millimetres("travel for one turn", 0.5, 2.5, exact=True, tool="thread gauge"),
    flats=number("flats of the nut", 4, 12, exact=True),
    axis=lean_pair("lean of the screw's axis, away from the head, towards +x and towards +y"),
    eccentricity=millimetres("eccentric shaft: the rocker's pivot off the shaft's own axis", 0.2, 5),
    eccentric_at=degrees("eccentric shaft: where the pivot stands, about direction from upright"),
    turns_in=number("turns left the way that takes up lash, from where it stands", 0, 20, sign=Sign.ZERO_UP),
    turns_out=number("turns left the way that makes room, from where it stands", 0, 20, sign=Sign.ZERO_UP),
)

ROCKER = Table(
    "The rocker on its shaft.",
    shaft=point(
        "a point on the rocker shaft's axis, from the head's gasket face",
        letters="AG AH AJ",
        tool="depth gauge and height gauge",
        asked=Asked.BY_COORDINATES,
        called="rocker shaft",
    ),
    direction=direction(
        "along the shaft; stations count this way",
        letters="AK",
        tool="protractor, along the shaft",
        asked=Asked.BY_COORDINATES,
        called="shaft's direction",
    ),
    valve_arm=millimetres(
        "shaft axis to contact centre", 12, 80, letters="AL", tool="calipers", asked=Asked.BY_COORDINATES
    ),
    pushrod_arm=millimetres(
        "shaft axis to the cup's ball centre",
        8,
        60,
        letters="AM",
        tool="calipers",
        asked=Asked.BY_COORDINATES,
    ),
    ratio=number(
        "valve arm over pushrod arm",
        0.8,
        2.5,
        letters="BC",
        tool="two dials, or calipers on both arms",
        called="rocker's ratio",
    ),
    cup=point("the cup's ball centre with the valve closed", letters="BE BF BG", called="rocker's cup"),
    arm_angle=degrees(
        "between the arms on the underside, 180 straight",
        90,
        220,
        below=360,
        sign=Sign.POSITIVE,
        letters="AN",
        asked=Asked.BY_COORDINATES,
        called="angle of the arms",
    ),
    span=millimetres(
        "contact centre to cup ball centre, square to the shaft",
        20,
        130,
        letters="BD",
        called="rocker's span",
    ),
    arms=Choice("whether both arms droop towards the head or rise", ("droop", "rise")),
    valve_station=millimetres(
        "valve arm along the shaft from its point",
        -100,
        100,
        sign=Sign.ANY,
        letters="AP",
        tool="calipers",
        asked=Asked.BY_COORDINATES,
    ),
    pushrod_station=millimetres(
        "pushrod arm along the shaft from its point",
        -100,
        100,
        sign=Sign.ANY,
        letters="AQ",
        tool="calipers",
        asked=Asked.BY_COORDINATES,
    ),
    tip_radius=millimetres(
        "radius of roller, pad crown or foot",
        2,
        40,
        letters="AR",
        tool="radius gauge",
        asked=Asked.BY_COORDINATES,
        called="contact's radius",
    ),
    ratio_at_seat=number(
        "valve's lift over the lifter's near the seat: both dialled at 0.5 mm of lifter lift",
        0.8,
        2.5,
        tool="two dials at 0.5 mm of lifter lift",
        called="ratio near the seat",
    ),
    cup_above_gasket=millimetres(
        "rocker's cup, its ball centre above the head's gasket face, valve closed",
        20,
        250,
        sign=Sign.ANY,
        tool="height gauge",
        called="rocker's cup above the gasket",
    ),
    shaft_above_cup=millimetres(
        "rocker shaft above its cup's ball centre, valve closed; negative below it",
        -15,
        30,
        sign=Sign.ANY,
        tool="height gauge",
    ),
    shaft_above_tip=millimetres(
        "rocker shaft above the stem tip, along the stem; negative below it",
        -25,
        25,
        sign=Sign.ANY,
        tool="height gauge",
    ),
    adjuster=ADJUSTER,
)

VALVE = Table(
    "The valve.",
    face=point(
        "centre of the valve's lower face, closed, from the head's gasket face",
        letters="AS AT AU",
        tool="depth gauge and height gauge",
        asked=Asked.BY_COORDINATES,
        called="valve's face",
    ),
    lean=lean_pair(
        "the stem's lean, out of the chamber, towards +x and towards +y",
        letters="AV AW",
        asked=Asked.BY_COORDINATES,
        called="valve's lean",
    ),
    length=millimetres(
        "face to stem tip",
        60,
        220,
        letters="AX",
        tool="calipers",
        asked=Asked.BY_COORDINATES,
        called="valve's length",
    ),
    tip_height=millimetres(
        "stem tip's centre above the head's gasket face", 40, 300, letters="BH", called="stem tip's height"
    ),
    head_diameter=millimetres(
        "valve head",
        15,
        75,
        letters="AY",
        tool="calipers",
        asked=Asked.FOR_CLEARANCES_BY_COORDINATES,
        called="valve's head",
    ),
    margin=millimetres(
        "margin of the head",
        0.3,
        4,
        letters="AZ",
        tool="calipers",
        asked=Asked.FOR_CLEARANCES_BY_COORDINATES,
        called="head's margin",
    ),
    stem_diameter=millimetres("stem", 4, 12, letters="BA", called="valve's stem"),
    sink=millimetres(
        "moved into the head along its stem since", 0, 3, sign=Sign.ANY, letters="BB", called="valve sunk"
    ),
    sits_lower_hot=millimetres(
        "how much lower a hot valve sits, its head grown past its seat",
        0,
        0.15,
        sign=Sign.ZERO_UP,
        tool="worked out from head, seat and temperatures",
        called="hot valve sits lower",
    ),
    retainer_to_seal=millimetres("retainer down to seal or guide, valve closed", 8, 30, letters="DH"),
)

POCKET = Table(
    "The cut in the crown under this valve.",
    centre=place("where the pocket's axis meets the crown plane", letters="EM EN", called="pocket's centre"),
    deepest=place("where the cutter went deepest, seen from above"),
    lean=lean_pair(
        "the cutter's axis, out of the crown, towards +x and towards +y",
        letters="EP EQ",
        called="pocket's lean",
    ),
    diameter=millimetres("the cut", 15, 80, letters="ER", called="pocket's diameter"),
    depth=millimetres("deepest point below the crown plane", 0.2, 15, letters="ES", called="pocket's depth"),
)

ROD_ENDS = Table(
    "The ends of a pushrod.",
    ball_diameter_low=millimetres(
        "ball in the lifter",
        5,
        13,
        letters="P",
        tool="micrometer",
        asked=Asked.IN_ANY_CASE,
        called="lower ball",
    ),
    ball_diameter_high=millimetres(
        "ball in the rocker",
        5,
        13,
        letters="R",
        tool="micrometer",
        asked=Asked.IN_ANY_CASE,
        called="upper ball",
    ),
    hole_low=millimetres(
        "oil hole in the lower ball, 0 for none",
        0,
        5,
        sign=Sign.ZERO_UP,
        letters="Q",
        tool="drill shanks",
        asked=Asked.IN_ANY_CASE,
        called="hole in the lower ball",
    ),
    hole_high=millimetres(
        "oil hole in the upper ball, 0 for none",
        0,
        5,
        sign=Sign.ZERO_UP,
        letters="S",
        tool="drill shanks",
        asked=Asked.IN_ANY_CASE,
        called="hole in the upper ball",
    ),
    end_low=Choice("lower end", ("ball", "cup")),
    end_high=Choice("upper end", ("ball", "cup")),
    cup_rim=millimetres(
        "a cup's lip above its ball centre", -4, 8, sign=Sign.ANY, letters="BU", called="cup's lip"
    ),
    gauge=millimetres(
        "diameter of the gauge's sharp-edged seats", 1, 8, letters="BV", called="gauge's seats"
    ),
)

SPRING = Table(
    "One valve spring.",
    installed=millimetres(
        "height with the valve closed, as measured", 20, 70, letters="DJ DP DU", called="spring, installed"
    ),
    free_length=millimetres("length without load", 25, 90, letters="DK DQ DV", called="spring, free"),
    force=measure("force at one height, as measured", Dimension.FORCE, 50, 3000),
    force_at=millimetres("the height at which that force was measured", 20, 70),
    rate=measure("rate", Dimension.RATE, 5, 200),
    wire=millimetres("wire", 1.5, 8, letters="DM DS DX", called="spring's wire"),
    mean_diameter=millimetres("mean coil diameter", 10, 45, letters="DN DT DY", called="spring's coils"),
    active_coils=number("active coils", 2, 12),
    shear_modulus=measure("shear modulus of the wire", Dimension.MODULUS, 60, 85),
    solid_height=millimetres(
        "height with its coils touching", 10, 50, letters="DL DR DW", called="spring, solid"
    ),
)

MASSES = Table(
    "What moves with the valve gear.",
    valve=measure("valve with retainer and locks", Dimension.MASS, 30, 250),
    springs=measure("the valve's springs together", Dimension.MASS, 20, 200),
    rocker=measure("the rocker's share, weighed at its valve end", Dimension.MASS, 10, 150),
    pushrod=measure("pushrod", Dimension.MASS, 20, 150),
    lifter=measure("lifter", Dimension.MASS, 30, 250),
)

TUBE = Table(
    "The tube around the pushrod.",
    seat_low=point(
        "centre of the tube's seat in the case, from the case deck",
        letters="DZ EA EB",
        called="tube's lower seat",
    ),
    seat_high=point(
        "centre of the tube's seat in the head, from the head's gasket face",
        letters="EC ED EE",
        called="tube's upper seat",
    ),
    shortest=millimetres("tube pushed together", 50, 350, letters="EF", called="tube, shortest"),
    longest=millimetres(
        "tube drawn out, its seals just holding", 50, 400, letters="EG", called="tube, longest"
    ),
    inner_diameter=millimetres("inside of the tube", 9, 40, letters="EH", called="inside of the tube"),
)

PUSHROD = Table(
    "The pushrod to be ordered.",
    **ROD_ENDS.parts,
    diameter=millimetres("tube's outer diameter", 5, 16, letters="BW", called="pushrod's diameter"),
    wall=millimetres("tube's wall", 0.5, 5, letters="EJ", called="pushrod's wall"),
    material=material("tube"),
    expansion=number("growth of the tube's material, millionths per kelvin", 5, 30),
    cup_depth_low=millimetres(
        "depth of the lifter's cup below its lip, which the ball is lifted over",
        0.5,
        8,
        sign=Sign.ZERO_UP,
        tool="depth gauge",
        called="lower cup's depth",
    ),
    cup_depth_high=millimetres(
        "depth of the rocker's cup below its lip",
        0.5,
        8,
        sign=Sign.ZERO_UP,
        tool="depth gauge",
        called="upper cup's depth",
    ),
    cup_radius_low=millimetres(
        "radius of the cup in the lifter", 2.5, 8, letters="EK", called="lower cup's radius"
    ),
    cup_radius_high=millimetres(
        "radius of the cup in the rocker", 2.5, 8, letters="EL", called="upper cup's radius"
    ),
)

ASSEMBLY = Table(
    "How the pushrod is put in: the engine stands so, its lifter on the heel and bled down.",
    rocker_box=Choice(
        "whether the rocker stands on its shaft when the pushrod goes in, or is fitted after it",
        ("on", "off"),
        wish=True,
    ),
    valve_opened=millimetres(
        "how far the valve is pushed open with a lever meanwhile", 0, 6, sign=Sign.ZERO_UP, wish=True
    ),
    adjuster_back=millimetres(
        "how much shorter the rocker's own adjuster is turned for it", 0, 8, sign=Sign.ZERO_UP, wish=True
    ),
)

CHECKING_ROD = Table(
    "An adjustable checking pushrod and where it was turned to.",
    closed=millimetres(
        "length screwed fully together",
        80,
        400,
        letters="H",
        tool="calipers, the rod screwed shut",
        called="checking rod, closed",
    ),
    turns=number(
        "turns out from fully together",
        0,
        40,
        sign=Sign.ZERO_UP,
        letters="J",
        tool="count the turns out",
        called="turns out",
    ),
    threads_per_inch=number("threads per inch", 10, 48, letters="K", exact=True, tool="thread gauge"),
    pitch=millimetres(
        "travel for one turn",
        0.5,
        2.5,
        letters="L",
        exact=True,
        tool="thread gauge",
        called="checking rod's pitch",
    ),
)

NOSE_LIFT = Table(
    "The valve's lift on the lobe's nose, read twice with the lifter solid or bottomed: how far the gear bends.",
    checking=millimetres(
        "lift on light checking springs", 3, 20, tool="dial on the retainer, lobe's nose up"
    ),
    checking_force=measure(
        "force of the checking spring at that lift", Dimension.FORCE, 1, 120, sign=Sign.ZERO_UP
    ),
    running=millimetres(
        "lift at the same cam angle on the running springs", 3, 20, tool="dial on the retainer"
    ),
    running_force=measure("force of the running springs at that lift", Dimension.FORCE, 200, 3500),
)

DOWN = Table(
    "The plunger held down by a known amount.",
    down=millimetres(
        "plunger below its top stop", 0, 8, sign=Sign.ZERO_UP, letters="N", called="plunger held down"
    ),
)

THEN_LIFTER = Table(
    "The lifter as it was when the pushrod was measured.",
    lowered=millimetres("lifter.lowered, then", 0, 6, sign=Sign.ANY),
)

THEN_VALVE = Table(
    "The valve as it was when the reading was taken.",
    sink=millimetres("valve.sink, then", 0, 3, sign=Sign.ANY),
)

PLUNGER = Either(DOWN, Choice("where the hydraulic plunger was", PLUNGER_PLACES))
THEN_PLUNGER = Either(then(DOWN), PLUNGER.other)

MEASURED_PUSHROD = Table(
    "One pushrod measured on the mock-up: touching, no lash, no preload.",
    **then(ROD_ENDS).parts,
    length=millimetres(
        "length as read", 80, 400, letters="G", tool="checking rod and calipers", called="rod as read"
    ),
    checking_rod=CHECKING_ROD,
    **{
        "as": Choice(
            "how the length was read", CONVENTIONS, tool="calipers over both ends, or a length gauge"
        )
    },
    plunger=PLUNGER,
    lean=Parts(
        "lean of the pushrod to the cylinder axis: the whole angle, or two views",
        (2,),
        Dimension.ANGLE,
        45.0,
        may_be_one=True,
        example="[1.0, -1.5]",
        usual=(0, 12),
        letters="M BP BQ",
        called="pushrod's lean",
    ),
    stack=then(
        OF_STACK,
        "rod's reading",
        base_gasket="BJ",
        cylinder="BK",
        head_gasket="BL",
        case_cut="BM",
        head_cut="BN",
    ),
    lifter=THEN_LIFTER,
    valve=THEN_VALVE,
    on=read_on(),
)

MEASURED_DROP = Table(
    "One closed valve pushed down at top centre until it touched.",
    drop=millimetres(
        "valve pushed down until it touched",
        0,
        25,
        sign=Sign.ZERO_UP,
        letters="ET",
        tool="dial on the retainer",
        called="drop as read",
    ),
    lean=degrees(
        "the stem's whole lean to the cylinder axis",
        0,
        45,
        below=80,
        sign=Sign.ZERO_UP,
        letters="EU",
        called="stem's lean",
    ),
    meets=Choice(
        "what the valve meets: the floor of its pocket, or the crown beside it",
        ("pocket", "crown"),
        tool="marking blue or clay",
    ),
    room=millimetres(
        "in a pocket, rim to its wall on the side the valve moves towards, away from its lean; none on the crown",
        0,
        10,
        sign=Sign.ZERO_UP,
        letters="EV",
        tool="clay, a wire, or calipers at the rim",
        called="room in the pocket",
    ),
    stack=then(OF_STACK, "drop's reading", base_gasket="EW", cylinder="EX", head_gasket="EY"),
    crank=then(CRANK),
    piston=then(PISTON),
    valve=THEN_VALVE,
    on=read_on(),
)

TRAIN = Table(
    "One valve gear, from lifter to valve.",
    ("cylinder", "port"),
    cylinder=Name("the cylinder it belongs to", tool=""),
    port=Choice("intake or exhaust", PORTS, tool=""),
    lobe=Name("the lobe that moves it; the port's by default", tool=""),
    like=Text('copy of another valve gear, "front.intake"', tool=""),
    mirror=YesNo("whether the copy has x reversed, and with it angles about an axis", tool=""),
    lifter=LIFTER,
    rocker=ROCKER,
    valve=VALVE,
    pocket=POCKET,
    pushrod=PUSHROD,
    assembly=ASSEMBLY,
    tube=TUBE,
    spring=Either(SPRING, Rows(SPRING)),
    masses=MASSES,
    nose_lift=NOSE_LIFT,
    measured_pushrod=MEASURED_PUSHROD,
    measured_drop=MEASURED_DROP,
)

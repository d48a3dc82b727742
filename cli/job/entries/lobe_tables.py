"""The tables of the cam: its lobes, as read, as on a timing card or as a law, with its place."""

from .fields import Choice, FileName, Sign
from .tables import Either, Rows, Table, degrees, millimetres, number, radius

MOST_TIP, MOST_ROLLER, MOST_HEEL = 2.5, 12.0, 20.0  # mm, radii: common practice, from memory
BY_WHEEL = "wheel and dial"
LAWS = ("cycloidal", "3-4-5", "4-5-6-7", "modified-sine")

DURATION = Table(
    "Degrees of crank between opening and closing at a check lift.",
    at=millimetres("check lift, chosen", 0.02, 3, exact=True, tool="the card, or wheel and dial"),
    degrees=degrees(
        "crank degrees open above the check lift",
        100,
        420,
        sign=Sign.POSITIVE,
        tool="the card, or wheel and dial",
    ),
)

EVENTS = Table(
    "Opening and closing at a check lift, as a timing card gives them.",
    at=millimetres("check lift, chosen", 0.02, 3, exact=True, tool=BY_WHEEL),
    opens=degrees("intake: before top centre; exhaust: before bottom centre", -60, 120, tool=BY_WHEEL),
    closes=degrees("intake: after bottom centre; exhaust: after top centre", -60, 120, tool=BY_WHEEL),
)

DURATIONS = Either(DURATION, Rows(DURATION))

AT_ANGLE = Table(
    "The lift at one crank angle, the cam as it stands for its centreline.",
    angle=degrees(
        "crank degrees after overlap top centre; before it: negative", -60, 60, below=360, tool=BY_WHEEL
    ),
    at=millimetres("lift there", 0.1, 10, tool=BY_WHEEL),
)

OPENING = Table(
    "Where the lobe opens to another check lift, read on the opening flank alone.",
    at=millimetres("check lift, chosen", 0.5, 8, exact=True, tool=BY_WHEEL),
    opens=degrees("intake: before top centre; exhaust: before bottom centre", -120, 120, tool=BY_WHEEL),
)

CLOSING = Table(
    "Where the lobe closes to another check lift, read on the closing flank alone.",
    at=millimetres("check lift, chosen", 0.5, 8, exact=True, tool=BY_WHEEL),
    closes=degrees("intake: after bottom centre; exhaust: after top centre", -120, 120, tool=BY_WHEEL),
)

CARD = Table(
    "The numbers on a timing card.",
    peak=millimetres("peak lift", 2, 20, tool="the card, or a dial on the lobe"),
    duration=DURATIONS,
    seat=DURATION,
    events=EVENTS,
    top_centre=millimetres(
        "lift at overlap top centre, the cam as it stands for its centreline",
        0.1,
        10,
        tool="dial, at overlap top centre",
    ),
    lift=Either(AT_ANGLE, Rows(AT_ANGLE)),
    opening=Either(OPENING, Rows(OPENING)),
    closing=Either(CLOSING, Rows(CLOSING)),
    top_dwells=Choice(
        "whether the lift stands still for some degrees at its top", ("yes", "no"), tool="dial on the lobe"
    ),
    ratio=number("rocker ratio behind lifts given at the valve", 0.8, 2.5, tool="the card"),
    lash=millimetres("lash behind lifts given at the valve", 0, 1, sign=Sign.ZERO_UP, tool="the card"),
)

LAW = Table(
    "A standard motion law.",
    name=Choice("motion law", LAWS),
    peak=millimetres("peak lift", 2, 20, tool="dial on the lobe"),
    degrees=degrees(
        "crank degrees, seat to seat", 150, 420, sign=Sign.POSITIVE, tool="degree wheel and dial"
    ),
)

READ_WITH = Table(
    "The ball tip or the roller that a lobe was read with.",
    tip=radius("radius of the ball tip", 0.4, 15, most=MOST_TIP, tool="micrometer over the tip"),
    roller=radius("radius of the roller", 4, 30, most=MOST_ROLLER, tool="micrometer over the roller"),
)

DIALLED = Table(
    "One place where lifter and valve were dialled at once; half lift and full lift tell most.",
    lifter=millimetres(
        "the lifter's lift there", 0.5, 15, tool="dial on the lifter, the other on the retainer"
    ),
    valve=millimetres(
        "the valve's lift there", 0.5, 20, tool="dial on the retainer, the other on the lifter"
    ),
)

LOBE = Table(
    "One lobe: a table of readings, a timing card or a motion law.",
    table=FileName("table of readings, CSV with angle and lift", tool=BY_WHEEL),
    card=CARD,
    law=LAW,
    measured_at=Choice(
        "where the lifts were read", ("lifter", "valve"), tool="the card, or where the dial stood"
    ),
    lash_read=millimetres(
        "lash at the valve while a table was read there; 0: none",
        0,
        1,
        sign=Sign.ZERO_UP,
        tool="feelers, on the lobe's heel",
    ),
    dialled=Either(DIALLED, Rows(DIALLED)),
    read_on_springs=Choice(
        "which springs were in place while lifts were read at the valve",
        ("checking", "running"),
    ),
    bled=millimetres(
        "slack at the valve on the heel, after a table was read there on a hydraulic lifter",
        0,
        0.05,
        sign=Sign.ZERO_UP,
        tool="feelers, on the lobe's heel",
    ),
    read_with=Either(
        READ_WITH, Choice("what rode on the lobe while it was read", ("flat", "the engine's own follower"))
    ),
    read_offset=millimetres(
        "how far that follower's line of travel passes the cam's axis, positive on the side from which the lobe comes",
        -15,
        15,
        sign=Sign.ANY,
        tool="square and scale",
    ),
    base_radius=radius("radius of the heel", 8, 40, most=MOST_HEEL, tool="calipers across nose and heel"),
    ground_for=Choice(
        "what the lobe was ground for: flat, no flank of it is hollow",
        ("flat", "roller"),
        tool="the cam maker's sheet, or a straightedge",
    ),
    angle=Choice("whose degrees the table counts", ("cam", "crank")),
    units=Choice("units of the table's lifts", ("mm", "in")),
    zero=Choice("where the table's angle is 0", ("peak", "top centre")),
    centreline=degrees(
        "crank degrees of an intake after, of an exhaust before overlap top centre",
        80,
        130,
        below=360,
        tool="degree wheel and dial, or the card",
    ),
    centreline_by=Choice("how a card's centreline was found", ("equal lifts", "the nose")),
)

CAM = Table(
    "The cam's place on the crank.",
    advance=degrees("crank degrees, positive makes both valves earlier", -15, 15, below=90),
    backlash=degrees(
        "crank degrees that the crank rocks with the cam held",
        0,
        3,
        below=30,
        sign=Sign.ZERO_UP,
        tool="degree wheel, the crank rocked to and fro with the cam held",
    ),
    gear_backlash=millimetres(
        "play between the teeth of the cam's gears", 0.02, 0.4, sign=Sign.ZERO_UP, tool="dial on a tooth"
    ),
    gear_radius=millimetres(
        "pitch radius of the gear on the cam", 15, 90, tool="calipers, half its pitch circle"
    ),
)

"""The tables of the engine below the valve gear: crank, piston, stack, chamber, cylinders."""

from tallstack.geometry.engine.defaults import HEATED, UNDER_HEAT
from tallstack.geometry.engine.materials import MATERIALS as STUFF
from tallstack.geometry.piston.bore_entries import ACROSS, ALONG, DIRECTIONS, HEIGHTS, LARGEST, ROCKED, SHARES
from tallstack.geometry.piston.touch_entries import NONE_UP_TO

from ..reading.values import Dimension
from .fields import Asked, Choice, FileName, Name, Quantity, Sign, Text, Way, Ways
from .tables import (
    Named,
    Rows,
    Table,
    degrees,
    direction,
    measure,
    millimetres,
    millimetres_or,
    number,
    point,
    then,
)

NONE, BLOCK = "none", "block"  # of a gasket: there is none; of a cylinder: it is part of the block
ON = ("now", "before")


def read_on() -> Choice:
    """Return on which engine a reading was taken: the one that the file is of, or what stood before it."""
    return Choice('"before": read on the engine as it was, see [before]', ON)


GROWS = (*HEATED, *UNDER_HEAT)  # what gets hot
HOT_C = {  # where most engines lie, common practice, from memory
    "cylinder": (80, 260),
    "case": (40, 140),
    "head": (80, 300),
    "valve": (100, 800),
    "piston": (100, 350),
}
SPOKEN = {"conrod": "connecting rod"}  # of those, whose names in entries are short
TOP = (
    "format",
    "title",
    "written_for",
    "wanted",
    "units",
    "shelf",
    "record",
    "crank",
    "piston",
    "stack",
    "chamber",
    "cylinder",
    "lobe",
    "cam",
    "train",
    "targets",
    "running",
    "materials",
    "studs",
    "instrument",
    "reading",
    "oversize",
    "before",
)

TOUCHED = Table(
    "An engine whose piston just touched the head at some speed, and lived: what is left of its squish is the crank's.",
    squish=millimetres("its squish at rest", 0.2, 2.5, tool="clay or solder, at top centre"),
    speed=measure("crank speed at which it just touched", Dimension.SPEED, 2000, 12000, exact=True),
)

CRANK = Table(
    "The crank and what turns with it.",
    stroke=millimetres(
        "stroke, twice the throw",
        30,
        160,
        letters="U",
        tool="dial or depth gauge, lowest to highest",
        asked=Asked.FOR_CLEARANCES,
    ),
    conrod_length=millimetres(
        "connecting rod, centre to centre",
        70,
        300,
        letters="V",
        tool="calipers over both bores",
        asked=Asked.FOR_CLEARANCES,
        called="connecting rod",
    ),
    turns=Choice('"forward": just after top centre the crank pin moves towards +x', ("forward", "backward")),
    counterweight_radius=millimetres(
        "counterweight's outer radius",
        30,
        150,
        letters="CC",
        on_cylinder=True,
        called="counterweight's radius",
    ),
    conrod_beam_width=millimetres(
        "across the connecting rod's beam, in the plane of swing",
        8,
        60,
        letters="CB",
        on_cylinder=True,
        called="connecting rod's beam",
    ),
    conrod_area=measure("section of the connecting rod's beam, for its stretch", Dimension.AREA, 60, 900),
    conrod_modulus=measure("elastic modulus of the connecting rod", Dimension.MODULUS, 60, 220),
    conrod_beam_mass=measure(
        "connecting rod's beam between its eyes, for its stretch: the whole rod less both ends",
        Dimension.MASS,
        30,
        800,
    ),
    big_end_clearance=millimetres(
        "play of the big end on its pin, on the diameter",
        0.01,
        0.15,
        tool="micrometer and bore gauge; of a roller bearing its radial play, by dial",
    ),
    main_clearance=millimetres(
        "play of the main bearings, on the diameter",
        0.005,
        0.12,
        tool="micrometer and bore gauge; of a rolling bearing its radial play, by dial",
    ),
    bending=millimetres(
        "how far crank, pins and case bend under the piston's pull",
        0.01,
        1,
        tool="the maker's figure",
    ),
    bending_at=measure(
        "crank speed that crank.bending is stated for", Dimension.SPEED, 2000, 12000, exact=True
    ),
    just_touched=TOUCHED,
)

DOME = Table(
    "A spherical dome on the crown.",
    height=millimetres("top of the dome above the crown plane", 0.2, 25),
    diameter=millimetres("the dome's edge at the crown plane", 20, 150),
)

DISH = Table(
    "A spherical dish in the crown.",
    depth=millimetres("bottom of the dish below the crown plane", 0.2, 25),
    diameter=millimetres("the dish's edge at the crown plane", 20, 150),
)

PISTON = Table(
    "The piston, from the pin outwards.",
    compression_height=millimetres(
        "pin axis to crown plane",
        15,
        70,
        letters="W",
        tool="depth gauge, crown to the pin's top",
        asked=Asked.FOR_CLEARANCES_BY_COORDINATES,
    ),
    pin_offset=millimetres(
        "wrist pin off the cylinder axis, towards +x",
        -5,
        5,
        sign=Sign.ANY,
        letters="X",
        called="pin's offset",
    ),
    crown_thickness=millimetres("metal under the thinnest place a pocket would be cut", 2, 20),
    ring_land=millimetres("crown edge down to the top ring groove", 2, 20),
    dome=DOME,
    dish=DISH,
    crown_table=FileName("measured crown heights, CSV with x, y and height"),
    diameter=millimetres(
        "the skirt's diameter", 30, 150, letters="BX", on_cylinder=True, called="piston's diameter"
    ),
    skirt_below_pin=millimetres(
        "lower edge of the skirt below the pin axis", 5, 80, letters="BY", on_cylinder=True
    ),
    skirt_inner=millimetres(
        "inside width of the skirt in the plane of swing",
        20,
        145,
        letters="BZ",
        on_cylinder=True,
        called="inside of the skirt",
    ),
    arch_width=millimetres(
        "arch in the skirt's lower edge at the thrust faces, straight across where it is narrowest; the smaller of both",
        5,
        90,
        letters="FD",
        on_cylinder=True,
        called="skirt's arch, width",
    ),
    arch_height=millimetres(
        "that arch, up from the skirt's lower edge as far as it is that wide; the smaller of both",
        1,
        40,
        letters="FE",
        on_cylinder=True,
        called="skirt's arch, height",
    ),
    boss_below_pin=millimetres(
        "lowest point of the pin bosses below the pin axis",
        5,
        40,
        letters="FF",
        on_cylinder=True,
        called="pin bosses",
    ),
    oil_ring=millimetres(
        "lower side of the oil ring below the crown plane", 5, 60, letters="CA", on_cylinder=True
    ),
    mass=measure("piston with rings, pin and the rod's small end", Dimension.MASS, 80, 1500),
    pin_clearance=millimetres(
        "play of the wrist pin on the diameter: in its bush and in the piston, together",
        0.005,
        0.06,
        tool="micrometer and bore gauge",
    ),
    skirt_clearance=millimetres(
        "skirt's play in its bore, on the diameter; the running one where it is known, else cold",
        0.01,
        0.3,
        sign=Sign.ZERO_UP,
        tool="bore gauge and micrometer; or cylinder.bore_readings",
    ),
    skirt_contact_length=millimetres(
        "height between the highest and the lowest place at which the skirt touches its bore",
        10,
        90,
        tool="calipers, over the polished part of the skirt",
    ),
    crown_volume=Quantity(
        "pockets and dish positive, dome negative", Dimension.VOLUME, usual=(-60, 60), below=10000
    ),
)

UNDER_PISTON = Table(
    "How far the crown stood below the cylinder's top face at top centre.",
    below=millimetres(
        "crown below the cylinder's top face at top centre",
        -3,
        8,
        sign=Sign.ANY,
        letters="Z",
        tool="bridge and dial",
        called="crown below the top face",
    ),
    on=read_on(),
)

OF_STACK = Table(
    "The parts of the stack that were in place when a reading was taken.",
    base_gasket=millimetres_or(
        NONE,
        "base gasket as compressed",
        0.05,
        6,
        sign=Sign.ZERO_UP,
        letters="A",
        tool="micrometer, as compressed",
    ),
    cylinder=millimetres_or(
        BLOCK,
        "cylinder, base face to top face",
        50,
        260,
        letters="B",
        tool="height gauge or large micrometer",
    ),
    head_gasket=millimetres_or(
        NONE,
        "head gasket as compressed",
        0.05,
        6,
        sign=Sign.ZERO_UP,
        letters="C",
        tool="micrometer, as compressed",
    ),
    case_cut=millimetres(
        "metal removed from the case deck",
        0,
        4,
        sign=Sign.ZERO_UP,
        letters="D",
        tool="height gauge, before and after",
        called="cut off the case",
    ),
    head_cut=millimetres(
        "metal removed from the head's gasket face",
        0,
        4,
        sign=Sign.ZERO_UP,
        letters="E",
        tool="height gauge, before and after",
        called="cut off the head",
    ),
)

THEN_STACK = then(OF_STACK)

STACK = Table(
    "From the crank centre outwards.",
    **OF_STACK.parts,
    bore=millimetres(
        "bore", 35, 150, letters="F", tool="bore gauge", asked=Asked.FOR_CLEARANCES_BY_COORDINATES
    ),
    case_deck=millimetres(
        "case deck above the crank centre, as it was when points were measured",
        50,
        350,
        letters="Y",
        tool="height gauge from the crank's centre",
    ),
    block_deck=millimetres(
        "deck of a block of which the cylinders are part, above the crank centre, as it was when points were measured",
        100,
        350,
        tool="height gauge from the crank's centre",
    ),
    measured_deck=UNDER_PISTON,
    base_gasket_free=millimetres("base gasket before it is pressed", 0.05, 6, tool="micrometer"),
    head_gasket_free=millimetres("head gasket before it is pressed", 0.05, 6, tool="micrometer"),
    mouth_width=millimetres(
        "opening of the case under the cylinder, in the plane of swing",
        40,
        200,
        letters="CF",
        on_cylinder=True,
        called="case's mouth",
    ),
    mouth_below=millimetres(
        "lower edge of that opening below the case deck",
        0,
        120,
        sign=Sign.ZERO_UP,
        letters="CG",
        on_cylinder=True,
        called="mouth's depth",
    ),
)

RUNNING = Table(
    "The engine as it runs, for estimates.",
    speed=measure("crank speed", Dimension.SPEED, 500, 12000, wish=True),
    growth=millimetres(
        "one figure for all by which the piston comes nearer at that speed: rod, play, crank and rocking",
        0.05,
        1.5,
        tool="the maker's figure",
    ),
    play_was=Choice(
        "how the play in the bearings lay when deck and drops were read",
        tuple(SHARES),
    ),
    deck_read=Choice(
        "where on the crown the deck was read",
        ("at the middle", ROCKED),
    ),
    altitude=measure(
        "height above the sea where it is cranked", Dimension.HEIGHT, 0, 3000, sign=Sign.ZERO_UP
    ),
    cranking_speed=measure("crank speed when it is cranked", Dimension.SPEED, 80, 700),
    pressure_at_opening=measure(
        "cylinder pressure as the exhaust opens, over the air outside", Dimension.PRESSURE, 1, 15
    ),
    cold=measure("temperature at which it was set", Dimension.TEMPERATURE, 5, 40, sign=Sign.ANY),
    **{
        f"hot_{part}": measure(
            f"temperature of the {SPOKEN.get(part, part)}, hot",
            Dimension.TEMPERATURE,
            *HOT_C.get(part, (40, 200)),
            sign=Sign.ANY,
        )
        for part in GROWS
    },
)


def material(part: str) -> Choice:
    """Return what a part is made of: one of those whose growth, modulus and strength are known here."""
    return Choice(f"material of the {SPOKEN.get(part, part)}", tuple(STUFF))


MATERIALS = Table(
    "What the parts are made of.",
    **{part: material(part) for part in GROWS},
    liner=material("cylinder's liner"),
    **{
        f"expansion_{part}": number(
            f"growth of the {SPOKEN.get(part, part)}'s material, millionths per kelvin", 5, 30
        )
        for part in GROWS
    },
)

STUDS = Table(
    "The cylinder studs and their head nuts.",
    stands=millimetres(
        "stud above the case deck", 80, 400, letters="CJ", on_cylinder=True, called="stud's height"
    ),
    head_seat=millimetres(
        "head's gasket face up to the nut's seat", 5, 200, letters="CK", on_cylinder=True, called="nut's seat"
    ),
    washer=millimetres("washer under the nut", 0.5, 6, letters="CL", on_cylinder=True, called="nut's washer"),
    nut_height=millimetres("thread in the nut", 5, 60, letters="CM", on_cylinder=True, called="nut's thread"),
    diameter=millimetres(
        "stud's thread, outside", 5, 16, letters="CN", on_cylinder=True, called="stud's thread"
    ),
)

INSTRUMENT = Table(
    "An instrument whose zero may be off, the same way for every length that it read.",
    name=Text("name of the instrument, as by = calls it", tool=""),
    zero=millimetres(
        "how far its zero may be off", 0.0005, 0.1, exact=True, tool="its maker's figure, or a gauge block"
    ),
)

CHAMBER = Table(
    "The combustion chamber.",
    release_closes=degrees(
        "crank degrees after bottom centre up to which a compression release holds a valve open",
        20,
        160,
        below=180,
        sign=Sign.ZERO_UP,
        tool="degree wheel and dial on that valve",
    ),
    release_hole=millimetres(
        "bore of a hole that lets compression out when it is cranked", 1, 8, tool="drill shank"
    ),
    volume=Quantity("chamber in the head", Dimension.VOLUME, Sign.POSITIVE, (8, 250), below=10000),
    head_cut=millimetres(
        "of the cut off the head, how much was gone when the chamber was measured",
        0,
        4,
        sign=Sign.ZERO_UP,
        tool="height gauge, before and after",
    ),
    gasket_bore=millimetres(
        "bore of the head gasket", 35, 155, letters="CH", on_cylinder=True, called="head gasket's bore"
    ),
)

RELIEF = Table(
    "A relief cut in a spigot.",
    at=degrees(
        "middle of the relief around the bore, from +x towards +y",
        letters="CV CY DB DE",
        on_cylinder=True,
        called="relief's place",
    ),
    width=millimetres(
        "chord at the bore, its sides towards the bore's axis; of a slot with parallel sides its width times bore by outer "
        "diameter",
        5,
        150,
        letters="CW CZ DC DF",
        on_cylinder=True,
        called="relief's width",
    ),
    height=millimetres(
        "up from the spigot's lower edge",
        1,
        80,
        letters="CX DA DD DG",
        on_cylinder=True,
        called="relief's height",
    ),
)

SPIGOT = Table(
    "The cylinder's spigot, a tube from the case deck down.",
    length=millimetres(
        "spigot below the case deck", 3, 120, letters="CD", on_cylinder=True, called="spigot's length"
    ),
    outer_diameter=millimetres(
        "spigot's outer diameter", 40, 180, letters="CE", on_cylinder=True, called="spigot's diameter"
    ),
    chamfer=millimetres(
        "chamfer inside the spigot's lower edge, along the bore; 0 where there is none",
        0,
        6,
        sign=Sign.ZERO_UP,
        letters="FG",
        on_cylinder=True,
        called="spigot's chamfer",
    ),
    reliefs=Rows(RELIEF),
)


def _face(letters: str, port: str) -> Table:
    return Table(
        "A port's face on the head.",
        centre=point(
            "centre of the port's face, head frame", letters=letters, on_cylinder=True, called=f"{port} port"
        ),
        normal=direction("square to the face, out of the head", tool="protractor"),
    )


def _edge(port: str, letters: str) -> Ways:
    words = f"least lift at which the {port} can be made to touch the other valve at all, whatever that one's lift"
    tried = Quantity(
        f"how far the {port} was tried, the other pushed through its whole travel, without touching",
        Dimension.LENGTH,
        Sign.POSITIVE,
        (3, 15),
        2000.0,
        tool="dial on the retainer",
        called=f"how far the {port} was tried",
    )
    return Ways(
        words,
        Way(r"(?i:none\s+up\s+to)\s+(.+)", tried, NONE_UP_TO, '"none up to 9 mm"'),
        dimension=Dimension.LENGTH,
        sign=Sign.POSITIVE,
        usual=(1, 12),
        below=2000.0,
        tool="dial on each retainer, light springs",
        letters=letters,
        on_cylinder=True,
        called=f"{port}'s edge",
    )


VALVES_TOUCH = Table(
    "A cylinder's two valves pushed open by hand until their heads touch.",
    edge_intake=_edge("intake", "EZ"),
    edge_exhaust=_edge("exhaust", "FA"),
    between_stems=degrees(
        "angle between the two stems, 0 when parallel",
        12,
        66,
        below=90,
        sign=Sign.ZERO_UP,
        tool="protractor",
        letters="FB",
        on_cylinder=True,
        called="angle between the stems",
    ),
    spread_off=degrees(
        "angle by which the stems spread off the line of the heads' centres, seen along the cylinder",
        0,
        25,
        below=90,
        sign=Sign.ZERO_UP,
        tool="straightedge and calipers at the same length up both stems, as atan(y / x)",
        letters="FC",
        on_cylinder=True,
        called="stems off the heads' line",
    ),
    together=millimetres(
        "both opened by equal steps until they touched: how far each", 1, 12, tool="dial on each retainer"
    ),
)


BORE_LETTERS = (("FK", "FL", "FM"), ("FN", "FP", "FQ"), ("FR", "FS", "FT"))


def _read(height: str, direction: str) -> Quantity:
    where = {
        ACROSS: "across the wrist pin",
        ALONG: "along the wrist pin",
        LARGEST: "the largest of a whole sweep",
    }
    of = {
        "top": "at the top of the rings' travel",
        "middle": "in the middle of the rings' travel",
        "bottom": "at the bottom of the rings' travel",
    }
    return millimetres(
        f"bore {of[height]}, {where[direction]}",
        35,
        150,
        tool="bore gauge, set by a micrometer",
        letters=BORE_LETTERS[HEIGHTS.index(height)][(*DIRECTIONS, LARGEST).index(direction)],
        on_cylinder=True,
        called=f"bore, {height}, {direction}",
    )


BORE_READINGS = Table(
    "The cylinder's bore as a gauge found it.",
    **{
        f"{height}_{direction}": _read(height, direction)
        for height in HEIGHTS
        for direction in (*DIRECTIONS, LARGEST)
    },
    bore_temperature=measure(
        "temperature of the cylinder when it was read", Dimension.TEMPERATURE, 5, 40, sign=Sign.ANY
    ),
    piston_temperature=measure(
        "temperature of the piston when it was read", Dimension.TEMPERATURE, 5, 40, sign=Sign.ANY
    ),
    lay_together=Choice(
        "whether both lay together for an hour before they were read, and so were as warm",
        ("yes", "no"),
    ),
    new_size=millimetres(
        "bore when it was new, at this oversize", 35, 150, exact=True, tool="the maker's figure"
    ),
    gap_top=millimetres("ring gap of a new ring, at the top of its travel", 0.1, 2, tool="feelers"),
    gap_bottom=millimetres("ring gap of the same ring, at the bottom of its travel", 0.1, 2, tool="feelers"),
    plated=Choice(
        "whether the bore is plated or coated, which is not bored",
        ("yes", "no"),
    ),
)

LINER = Table(
    "A liner held by a jacket of another metal.",
    outer_diameter=millimetres("liner's outer diameter", 40, 170),
    jacket_diameter=millimetres("outer diameter of the jacket between its fins", 45, 200),
)

ON_OFFER = Table(
    "One oversize piston.",
    diameter=millimetres(
        "its diameter at the gauge point, as measured", 30, 150, tool="micrometer, on the piston in hand"
    ),
)

OVERSIZE = Table(
    "The next oversize: what is on offer, and how it is bored.",
    piston=Rows(ON_OFFER),
    clearance=millimetres(
        "clearance wanted between piston and new bore, on the diameter", 0.01, 0.3, wish=True
    ),
    cut_least=millimetres("least last cut and hone, on the diameter", 0.01, 0.3, wish=True),
    hone=millimetres("left for the hone, on the diameter", 0.005, 0.15, wish=True),
    bar=Choice("what the boring bar is centred on", ("unworn end", "worn bore"), wish=True),
)

CYLINDER = Table(
    "One cylinder and where it differs from the others.",
    ("name",),
    name=Name("name of the cylinder", TOP, tool=""),
    lean=degrees("lean of the axis from upright, positive forward", below=180, reached=True),
    offset=millimetres("along the crankshaft", -700, 700, sign=Sign.ANY),
    pin=degrees("crank pin's angle to the first cylinder's pin"),
    fires_at=degrees(
        "crank degrees after the first cylinder fires", 0, 720, below=720.5, tool="degree wheel"
    ),
    stack=STACK,
    piston=PISTON,
    chamber=CHAMBER,
    studs=STUDS,
    spigot=SPIGOT,
    intake_face=_face("CP CQ CR", "intake"),
    exhaust_face=_face("CS CT CU", "exhaust"),
    valves_touch=VALVES_TOUCH,
    bore_readings=BORE_READINGS,
    liner=LINER,
    points=Named(point("a named point in the head frame")),
)

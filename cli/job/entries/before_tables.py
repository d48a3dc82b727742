"""The tables of the engine as it was before a change: those of the engine as it is, once more under `before`.

They are the same tables, not copies, so that whatever is declared of the engine may be said of what stood before. What is
the same part is named in `same`, and nothing of it is written twice: a table ("crank", "rocker"), one entry of it
("stack.base_gasket"), what one valve gear or cylinder alone has ("front.intake.valve"), or a part in a person's word.
"""

from .engine_tables import CHAMBER, CRANK, CYLINDER, MATERIALS, PISTON, STACK, STUDS
from .fields import NameList
from .gear_tables import TRAIN
from .lobe_tables import CAM, LOBE
from .tables import Named, Rows, Table

# A part in a person's word → the tables and entries that are read off it. Cuts are none: they are done to a part.
PARTS = {
    "gaskets": ("stack.base_gasket", "stack.head_gasket", "stack.base_gasket_free", "stack.head_gasket_free"),
    "case": (
        "stack.case_deck",
        "stack.measured_deck",
        "stack.mouth_width",
        "stack.mouth_below",
        "lean",
        "offset",
        "pin",
        "fires_at",
    ),
    "cylinder": ("stack.cylinder", "stack.bore", "spigot", "bore_readings", "liner"),
    "head": ("chamber", "rocker", "valve", "intake_face", "exhaust_face", "points", "valves_touch"),
}
PARTS["block"] = (*PARTS["case"], *PARTS["cylinder"])

BEFORE = Table(
    "The engine as it was before the change: what stood there, and what was read on it.",
    same=NameList(
        'parts that are the same now as then, by table or entry: ["crank", "piston", "head", "stack.base_gasket"]',
        tool="",
    ),
    crank=CRANK,
    piston=PISTON,
    stack=STACK,
    chamber=CHAMBER,
    studs=STUDS,
    cylinder=Rows(CYLINDER),
    lobe=Named(LOBE),
    cam=CAM,
    train=Rows(TRAIN),
    materials=MATERIALS,
)


def same_paths(said: object) -> tuple[str, ...]:
    """Return the tables and entries that parts named as the same are read off."""
    names = said if isinstance(said, list) else []
    return tuple(path for name in names for path in PARTS.get(str(name), (str(name),)))

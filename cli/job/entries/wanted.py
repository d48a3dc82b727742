"""What somebody may want to find out of an engine: the words that a job keeps it by, each with what it means."""

from __future__ import annotations

PUSHRODS, VALVES, COMPRESSION, SPEED, BORES = "pushrods", "valves", "compression", "speed", "bores"
ASSEMBLY, PORTS, SPRINGS, HOT, RECORD = "assembly", "ports", "springs", "hot", "record"

WANTED = {
    PUSHRODS: "which pushrods to order",
    VALVES: "how near the valves come to the pistons and to each other",
    COMPRESSION: "squish, compression, and what of it is trapped",
    SPEED: "what is left of squish and valve clearance at speed",
    BORES: "pistons in their bores, and the next oversize",
    ASSEMBLY: "whether it goes together: skirts, spigots, tubes, studs, lowering a cylinder",
    PORTS: "ports that moved apart, and the spacers for them",
    SPRINGS: "valve springs: force, coil bind, retainers",
    HOT: "what heat does to how the valves are set, and to squish",
    RECORD: "writing down what was set, at assembly and at each visit",
}

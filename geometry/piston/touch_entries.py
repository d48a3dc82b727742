"""How the entries of two valves pushed together are called; read without loading anything."""

TABLE = "valves_touch"  # of a cylinder
EDGES = ("edge_intake", "edge_exhaust")  # in the order of the ports
TOUCHED = (*EDGES, "between_stems", "spread_off")  # what has to be read for the straight gap
NONE_UP_TO = "none_up_to"  # under an edge: how far it was tried without touching

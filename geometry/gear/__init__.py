"""One valve gear: its parts from coordinates or from a reading, and what an adjuster does."""

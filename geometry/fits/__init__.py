"""What a taller, longer-stroke stack breaks besides the valve gear: one fit a module."""

"""A valve over its piston: crown, head, the gap between them, through the cycle."""

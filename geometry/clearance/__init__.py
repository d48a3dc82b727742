"""How close valves come to pistons and to each other, what moves that, and how sure it is."""

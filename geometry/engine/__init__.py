"""The mapping as an engine: its parts, what is taken for what was not entered, other ways to say an entry."""

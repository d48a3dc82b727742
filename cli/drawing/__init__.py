"""A valve gear on paper: one list of lines and texts, three ways to write it down."""

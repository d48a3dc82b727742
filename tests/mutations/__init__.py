"""How many small errors put into `geometry/` the tests find."""

"""The job file: what may stand in it, what it says, and what is wrong with it."""

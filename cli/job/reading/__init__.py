"""A text into values and faults."""

"""What everything stands on: frames, the mapping, errors, searches, limits."""

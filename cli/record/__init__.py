"""What was set and measured at assembly."""

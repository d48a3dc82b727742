"""What entries contradict together."""

"""What is possible but unlikely."""

"""What is asked for a new job, and what is still to be measured."""

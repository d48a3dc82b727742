"""Every table and entry that a job file may hold."""

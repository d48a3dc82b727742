"""The tables that stand beside a job: shelf, lobes, crowns."""

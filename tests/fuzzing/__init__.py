"""Inputs that nobody would type, by grammar and by coverage: no crash, no hang, no number that is none."""

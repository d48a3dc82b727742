"""Answers in words and for JSON."""

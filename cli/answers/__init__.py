"""Answers as they are given to a program: results with their doubts and limits, and engines as arrays."""

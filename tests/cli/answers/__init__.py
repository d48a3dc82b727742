"""Answers as they are given to a program."""

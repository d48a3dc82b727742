"""Tests of tallstack; they mirror its rooms."""

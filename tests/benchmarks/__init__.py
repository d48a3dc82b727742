"""Benchmarks: ratios within one run."""

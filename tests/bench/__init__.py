"""Benchmarks: ratios side by side in one run. Nothing here passes or fails a test."""

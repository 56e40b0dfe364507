"""Benchmark series: what markets quote, kept by maintainers, with which prices age."""

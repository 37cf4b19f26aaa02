"""Benchmarks against what somebody would do instead: `python tests/benchmarks` from the repository.

Ratios are measured in one run, ours and the other by turns; absolute times are only this machine's.
All data is made up from fixed rules.
"""

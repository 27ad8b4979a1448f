"""Figures that proveout is held to, measured; `python -m benchmarks` prints them."""

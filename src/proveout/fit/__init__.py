"""Sizes from hardware, material and cutter: when a head seats, how tight it holds, what the wood stands.

In: hardware, fit class, stock and cutters. Out: dimensions as figures, and findings. Read `seating.py` first.
"""

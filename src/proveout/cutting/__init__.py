"""Cutting data: depth, stepover, feed and speed, each with the constraint that limits it.

In: cutter, material, machine, hold-down. Out: `CuttingData` and its figures. Read `choose.py` first; the
formulas are plain functions beside it.
"""

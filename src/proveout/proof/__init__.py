"""The prover: program text and setup in, findings and minutes out.

It never sees the planner (paths, layout, cutting, fit): an import contract keeps that wall.
Read `prove.py` first.
"""

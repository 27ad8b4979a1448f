"""Parts and their parametric patterns.

In: what is wanted, and the sizes that `fit` found. Out: `Part`, a set of exact curves with floors.
Read `part.py` first; each pattern is a module of its own.
"""

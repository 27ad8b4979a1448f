"""Drawings out (and, later, in): each part at its final size as DXF.

In: curves. Out: text of an open format. Read `dxf.py` first.
"""

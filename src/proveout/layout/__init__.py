"""Where each part lies on the sheet, around the clamps.

In: parts and keep-outs. Out: placed parts, or what did not fit and how much sheet it would take.
Read `lay.py` first.
"""

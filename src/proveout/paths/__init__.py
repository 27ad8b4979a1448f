"""From placed features to moves.

In: placed parts and cutting data. Out: one `Run` of `Motion` for each cutter, in the internal frame.
Read `trace.py` first.
"""

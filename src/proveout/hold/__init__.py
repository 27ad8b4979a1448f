"""Hold-down: where the clamps sit, how hard they press, how hard one may push.

In: clamps as stated, the plate, the stock. Out: placed clamps and the friction they give.
Read `clamps.py` first, then `preload.py`.
"""

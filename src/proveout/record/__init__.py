"""`proveout record`: what was measured and how long it took, into the shop's book.

In: a job or a pack, and answers, a filled-in form or single readings. Out: entries in the book. Read
`bench.py` first, then `readings.py`; `single.py` is about stock, cutters and hardware, `correct.py` about
slips.
"""

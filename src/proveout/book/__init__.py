"""The shop book: what the shop's own calipers and clock said, kept in one file for good.

In: readings of what a pack cut, typed at a prompt or filled into a form. Out: entries that later jobs can
learn from. Read `entry.py` first, then `store.py`; `doubts.py` says which readings are asked back.
"""

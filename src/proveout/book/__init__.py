"""The shop book: what the shop measured, one SQLite file that only grows, and what is learned from it.

In: readings of stock, cutters, coupons, first articles and minutes. Out: the same, by what they belong to,
and offsets with their spread. Read `entry.py` first, then `store.py` and `learn.py`.
"""

"""The shop book: what the shop measured, one SQLite file, and what is learned from it.

In: readings of stock, cutters, coupons, first articles and minutes. Out: the same, by what they belong to,
and offsets with their spread. Read `entry.py` first, then `learn.py`.
"""

"""The shelf: reference tables that ship with proveout, a row each with its source.

In: nothing. Out: typed rows and look-ups in mm, N, N/mm2. The tables are the CSV files beside this one, the
sources they name are in sources.toml. Read `tables.py` first.
"""

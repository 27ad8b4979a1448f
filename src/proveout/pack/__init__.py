"""What `make` hands over: programs, proof, pictures, setup sheet, reasons.

In: a `Made` job. Out: files as bytes, and a folder written whole or not at all. Read `pack.py` first.
"""

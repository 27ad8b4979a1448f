"""What a person states.

In: TOML text. Out: a `Job` with its `Shop`, frozen, or every error of both files with its place.
Read `records.py` first: it is the vocabulary of the whole project; then `read.py`.
"""

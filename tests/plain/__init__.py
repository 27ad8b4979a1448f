"""The obvious, slow version of every kernel, to hold the fast one against."""

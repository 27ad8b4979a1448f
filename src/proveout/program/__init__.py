"""Program text: written in a controller's dialect, and read back by a strict interpreter.

`write.py` turns a run into text; `read.py` turns anybody's text into `Motion`. They share no code.
"""

"""From what is on the bench to router programs that have been proved before the spindle turns."""

__version__ = "0.1.0"

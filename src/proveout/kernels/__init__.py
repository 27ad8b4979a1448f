"""Every compiled loop: plain arrays in and out. Nothing else imports the compiler.

Each kernel has a plain twin in tests/plain that it must match.
"""

"""Harnesses that try to make the program lose, mix up or let in something.

Each is a script that runs at full length and prints its counts, and a test that runs it short.
"""

"""Productions with a known end, to measure the forecast on, and the tables that say how it did.

python -m tests.simulator --productions 360
"""

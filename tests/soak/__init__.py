"""The engine soak: whole runs of the demonstration job by a seeded driver, through real logs, interrupted in every way.

`python -m tests.soak FIRST LAST` plays the seeds of a range and prints what it counted; two processes can share the
10,000 that the deep tier plays. A seed fixes everything but the moments of the real `kill -9`.
"""

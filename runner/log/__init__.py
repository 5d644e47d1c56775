"""The log of a run: append-only, chained, sealed. `logs/README.md` says the format and the promises.

`line` writes and reads one line, `scan` judges a file, `writer` creates, resumes, appends and seals,
`shop` keeps the shop's list of runs, `names` makes and finds log files, `signature` and `keys` sign a seal
and judge it, `export` gives plain JSON Lines, `errors` draws the tree of everything that can go wrong.
"""

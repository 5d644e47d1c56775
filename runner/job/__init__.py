"""The engine: `decide(job, action)` says what is recorded or refused, `evolve(job, entry)` what is true then.

Pure: no clock, no files, no screen, no randomness of its own. See `decide`, `evolve`, `demand` and `state`.
"""

"""Properties of the engine over random procedures and random runs, judged from the log by `tests.judge`."""

"""The quick tier takes one case in ten of every table, the first among them; `-m deep` has the others."""

from collections import Counter

import pytest

EVERY = 10


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the cases between into the deep tier, table by table, so that no table is left out of the quick one."""
    seen: Counter[str] = Counter()
    for item in sorted(items, key=lambda item: item.nodeid):  # whatever order the tests are run in
        if "/hostile/" not in item.path.as_posix() or item.get_closest_marker("deep"):
            continue
        table = item.nodeid.partition("[")[0]
        if seen[table] % EVERY:
            item.add_marker(pytest.mark.deep)
        seen[table] += 1

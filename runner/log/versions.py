"""Log versions: which are read, and how an older entry is raised step by step to today's form."""

from collections.abc import Callable, Mapping
from typing import Any

from runner.log import line

Entry = tuple[str, dict[str, Any]]
"""Kind and data of one entry."""
Step = Callable[[str, dict[str, Any]], Entry]
"""Raises one entry of version v to v + 1; BadLine where it is not of v. The file stays as it is."""

STEPS: Mapping[int, Step] = {}
"""The step that raises version v, by v. Empty while version 1 is the only one there has been."""


def known(version: int) -> bool:
    """Whether a log of `version` can be read."""
    return version == line.VERSION or (version in STEPS and version < line.VERSION)


def raise_entry(version: int, kind: str, data: dict[str, Any]) -> Entry:
    """The entry in today's form."""
    for each in range(version, line.VERSION):
        kind, data = STEPS[each](kind, data)
    return kind, data

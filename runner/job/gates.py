"""What the proof hands to the engine, as data: last chances and the item states it allows at each step.

The engine does not know how these were found. Both are empty for a run that was not proved.
"""

from collections.abc import Mapping

from pydantic import BaseModel, ConfigDict


class Gates(BaseModel):
    """`last_chance`: by node, the put-off nodes it insists on. `allowed`: by node and item, the states allowed."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    last_chance: Mapping[str, tuple[str, ...]] = {}
    allowed: Mapping[str, Mapping[str, tuple[str, ...]]] = {}

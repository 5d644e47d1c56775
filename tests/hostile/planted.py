"""A whole procedure with hostile text in every field that holds text, forged as a foreign log can carry it."""

import copy
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from runner.procedure.linked import Procedure
from tests.procedures.hand import loaded

FREE = {
    "title", "revision", "fits", "sources", "close_out", "nodes/do", "nodes/because", "nodes/expect",
    "nodes/helper", "nodes/hold/asks", "nodes/look_for", "nodes/notices/hazard", "nodes/notices/consequence",
    "nodes/notices/avoid", "nodes/sketch", "nodes/put_off/because", "nodes/put_off/until/text", "nodes/joint",
    "nodes/put_off/before/text", "nodes/readings/what", "nodes/readings/text_kind", "nodes/readings/band/text",
    "standing/hazard", "standing/consequence", "standing/avoid", "follow_up/what", "follow_up/text", "items/name",
    "items/number_one", "items/stages/text", "items/stages/band/text", "items/thread", "items/strength",
    "tools/covers/text", "parts/number", "nodes/place", "items/place", "nodes/step", "files", "nodes/mark/file",
}  # fmt: skip
"""Where text is shown and nothing refers to it by it."""

_NAMES = ("conditions", "choices", "tools", "parts", "counters")


@cache
def planted(text: str, *, in_names: bool = True) -> Procedure:
    """The demonstration, `text` behind every free text and behind every name, wherever the name is used.

    Without `in_names` only behind free text: a name with a control in it could not be answered with.
    """
    data = copy.deepcopy(loaded(Path("procedures/lower-arm.yaml")).to_data())
    names = {each["name"] for key in _NAMES for each in data.get(key, ())}
    names |= set(data["supplies"])
    for condition in data["conditions"]:
        names |= set(_texts(condition["changes"]))
    names |= {value for choice in data["choices"] for value in choice["values"]}
    names |= {answer["label"] for node in data["nodes"] for answer in node.get("answers", ())}
    return Procedure.from_data(_walk(data, "", text, names if in_names else set()))


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from _texts(inner)


def _walk(value: Any, path: str, text: str, names: set[str]) -> Any:
    if isinstance(value, dict):
        return {
            (key + text if key in names else key): _walk(inner, f"{path}/{key}".lstrip("/"), text, names)
            for key, inner in value.items()
        }
    if isinstance(value, list | tuple):
        return [_walk(inner, path, text, names) for inner in value]
    if isinstance(value, str) and (path in FREE or value in names):
        return value + text
    return value

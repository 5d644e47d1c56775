"""Random small procedures for the proof and the brute force: a seed (or a script of numbers) gives one case.

Every case comes through the real reader and linker, so that only lawful files are judged. About half are spoiled in
one or two places by `planting`; where a spoiled file no longer links, the case goes by its next spoiling, or unspoiled.
"""

import copy
from dataclasses import dataclass
from typing import Any

from runner.procedure.link_whole import link
from runner.procedure.linked import Procedure
from runner.procedure.reader import read_procedure
from tests.job.properties.dice import Dice
from tests.proof.composing import compose
from tests.proof.planting import plant
from tests.proof.sheet import Sheet, text

SPOILED = 62
"""So many cases in a hundred are spoiled."""


@dataclass(frozen=True)
class Case:
    """One procedure: its text, the files it uses by name, what was planted, and the linked form."""

    text: str
    files: dict[str, str]
    planted: tuple[str, ...]
    procedure: Procedure


def case(dice: Dice) -> Case:
    """The case of some dice."""
    sheet = Sheet(dice)
    data = sheet.data(compose(sheet))
    whole: dict[str, Any] = {"main": data, "used": sheet.used}
    if dice.chance(SPOILED):
        for _ in range(3):
            spoiled = copy.deepcopy(whole)
            planted = [plant(dice, spoiled) for _ in range(dice.pick((1, 1, 1, 2)))]
            made = _linked(spoiled)
            if made is not None:
                return Case(*made[:2], tuple(planted), made[2])
    made = _linked(whole)
    assert made is not None, text(data)
    return Case(*made[:2], (), made[2])


def seeded(seed: int) -> Case:
    """The case of a seed."""
    return case(Dice(seed))


def _linked(whole: dict[str, Any]) -> tuple[str, dict[str, str], Procedure] | None:
    main = text(whole["main"])
    files = {name: text(data) for name, data in whole["used"].items()}
    source, _ = read_procedure(main.encode(), "generated.yaml")
    read = {name: read_procedure(other.encode(), name)[0] for name, other in files.items()}
    if source is None or any(one is None for one in read.values()):
        return None
    procedure, _ = link(source, lambda path, mark: read.get(path))
    return None if procedure is None else (main, files, procedure)

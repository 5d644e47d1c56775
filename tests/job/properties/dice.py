"""Where choices come from: a seeded generator, or a script of numbers that hypothesis can make smaller."""

import random
from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")


class Dice:
    """Choices by a seed."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def chance(self, percent: int) -> bool:
        """True about `percent` times in a hundred."""
        return self._random.randrange(100) < percent

    def pick(self, among: Sequence[T]) -> T:
        """One of several."""
        return among[self._random.randrange(len(among))]

    def number(self, low: int, high: int) -> int:
        """A whole number between limits, both among them."""
        return self._random.randint(low, high)


class Script(Dice):
    """Choices by a list of small numbers; when it has run out, every chance fails and the first is picked."""

    def __init__(self, numbers: Sequence[int]) -> None:
        self._left = list(reversed(numbers))

    def chance(self, percent: int) -> bool:
        return self._left.pop() % 100 >= 100 - percent if self._left else False

    def pick(self, among: Sequence[T]) -> T:
        return among[self._left.pop() % len(among)] if self._left else among[0]

    def number(self, low: int, high: int) -> int:
        return low + self._left.pop() % (high - low + 1) if self._left else low

"""Valid files changed a little, by a seeded die: mostly in ways that an author, a disk or a forger would."""

import copy
import random
from collections.abc import Callable, Sequence
from typing import Any

from tests.fuzz.pieces import WORDS
from tests.hostile.chained import Body, chained, raw_body

LARGEST = 8_000
"""Bytes of an input; what grows beyond is cut."""

Change = Callable[[random.Random, bytes, Sequence[bytes]], bytes]


def mutated(dice: random.Random, files: Sequence[bytes]) -> bytes:
    """One of the files with one to four changes; small files are drawn more often."""
    data = files[int(len(files) * dice.random() ** 2)]
    for _ in range(1 + int(dice.random() ** 3 * 4)):
        data = dice.choice(_CHANGES)(dice, data, files)
    return data[:LARGEST]


def made_up(dice: random.Random) -> bytes:
    """No valid file at all: words that mean something, one after another, or any bytes."""
    if dice.random() < 0.2:
        return dice.randbytes(dice.randrange(200))
    return b"".join(dice.choice(WORDS) for _ in range(dice.randrange(60)))


def _byte(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    at = dice.randrange(len(data) + 1)
    return data[:at] + bytes([dice.randrange(256)]) + data[at + 1 :]


def _letter(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    """A letter for a letter: what stands there stays text."""
    places = [at for at, each in enumerate(data) if 97 <= each <= 122]
    if not places:
        return data
    at = dice.choice(places)
    return data[:at] + bytes([dice.randrange(97, 123)]) + data[at + 1 :]


def _word(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    at = dice.randrange(len(data) + 1)
    return data[:at] + dice.choice(WORDS) + data[at:]


def _cut(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    at = dice.randrange(len(data) + 1)
    return data[:at] + data[at + dice.choice((1, 2, 8, 64)) :]


def _short(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    return data[: dice.randrange(len(data) + 1)]


def _lines(data: bytes) -> list[bytes]:
    return data.splitlines(keepends=True) or [b""]


def _line_gone(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    lines = _lines(data)
    del lines[dice.randrange(len(lines))]
    return b"".join(lines)


def _line_again(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    lines = _lines(data)
    lines.insert(dice.randrange(len(lines) + 1), dice.choice(lines))
    return b"".join(lines)


def _lines_swapped(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    lines = _lines(data)
    one, other = dice.randrange(len(lines)), dice.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]
    return b"".join(lines)


def _line_from_elsewhere(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    lines = _lines(data)
    lines.insert(dice.randrange(len(lines) + 1), dice.choice(_lines(dice.choice(files))))
    return b"".join(lines)


def _moved_in(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    lines = _lines(data)
    at = dice.randrange(len(lines))
    lines[at] = lines[at][1:] if dice.random() < 0.5 else b" " * dice.randrange(1, 5) + lines[at]
    return b"".join(lines)


def _value(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    """What stands behind a colon, changed for what stands behind another one or for a word."""
    lines = _lines(data)
    at = dice.randrange(len(lines))
    key, colon, _ = lines[at].partition(b": ")
    if not colon:
        return data
    value = (
        dice.choice(WORDS)
        if dice.random() < 0.5
        else dice.choice(_lines(dice.choice(files))).partition(b": ")[2]
    )
    lines[at] = key + colon + value.rstrip(b"\n") + b"\n"
    return b"".join(lines)


def _remark(dice: random.Random, data: bytes, files: Sequence[bytes]) -> bytes:
    lines = _lines(data)
    lines.insert(dice.randrange(len(lines) + 1), b"# " + dice.choice(WORDS).replace(b"\n", b" ") + b"\n")
    return b"".join(lines)


_CHANGES: tuple[Change, ...] = (
    _byte, _letter, _letter, _letter, _word, _cut, _short, _line_gone, _line_again, _lines_swapped,
    _line_from_elsewhere, _moved_in, _value, _value, _remark,
)  # fmt: skip


def mutated_log(dice: random.Random, all_bodies: Sequence[Sequence[Body]], files: Sequence[bytes]) -> bytes:
    """A log changed as a disk changes it, or rightly chained again as a forger would."""
    kind = dice.random()
    if kind < 0.3:
        return _damaged(dice, dice.choice(files))
    bodies = list(dice.choice(all_bodies))
    for _ in range(1 + int(dice.random() ** 3 * 3)):
        _forge(dice, bodies)
    raws = [raw_body(body) for body in bodies]
    if kind < 0.5 and raws:  # the bytes of one line are anything at all, and chained all the same
        at = dice.randrange(len(raws))
        raws[at] = dice.choice(_CHANGES)(dice, raws[at], raws).replace(b"\n", b"")
    data = chained(raws)
    return _damaged(dice, data) if dice.random() < 0.1 else data


def _damaged(dice: random.Random, data: bytes) -> bytes:
    deed = dice.randrange(5)
    at = dice.randrange(len(data) + 1)
    if deed == 0:
        return data[:at]
    if deed == 1:
        return data[:at] + bytes(dice.choice((1, 512, 1024))) + data[at:]
    if deed == 2:
        return data[:at] + dice.choice(WORDS) + data[at:]
    if deed == 3:
        return data[:at] + b"\x18\x18\x18\x18\n" + data[at:]
    return dice.choice(_CHANGES)(dice, data, (data,))


ODD: tuple[Any, ...] = (
    None, True, False, 0, 1, -1, 2**53, 10**4000, "", "x", "\x1b[2J", "\u202e", "\ud800", [], [1], [[]], {}, {"a": []},
    "1e999", "9" * 50, "none such", ["a", "b"], [["a", "b"]], "0001-01-01T00:00:00.000Z", "N·m", "-1",
)  # fmt: skip


def _forge(dice: random.Random, bodies: list[Body]) -> None:
    """Change one thing in the entries of a log; the bodies themselves are not changed, but copied."""
    if not bodies:
        return
    deed, at = dice.random(), dice.randrange(len(bodies))
    if deed < 0.1:
        del bodies[at]
    elif deed < 0.2:
        bodies.insert(dice.randrange(len(bodies) + 1), bodies[at])
    elif deed < 0.3:
        other = dice.randrange(len(bodies))
        bodies[at], bodies[other] = bodies[other], bodies[at]
    else:
        body = copy.deepcopy(bodies[at])
        _change_inside(dice, body)
        bodies[at] = body
    if deed < 0.3 and dice.random() < 0.9:
        for n, body in enumerate(bodies):
            bodies[n] = {**body, "n": n}


def _change_inside(dice: random.Random, value: Any) -> None:
    """Walk down to any depth and change what is there."""
    while True:
        if isinstance(value, dict) and value:
            key: Any = dice.choice(list(value))
        elif isinstance(value, list) and value:
            key = dice.randrange(len(value))
        else:
            return
        inner = value[key]
        if isinstance(inner, dict | list) and inner and dice.random() < 0.8:
            value = inner
            continue
        if dice.random() < 0.15:
            del value[key]
        elif isinstance(inner, str) and dice.random() < 0.4:
            value[key] = inner + dice.choice(("x", " ", "é", "\u200f", "0", "<b>"))
        elif isinstance(inner, int) and dice.random() < 0.4:
            value[key] = inner + dice.choice((-1, 1, 1000))
        else:
            value[key] = dice.choice(ODD)
        return

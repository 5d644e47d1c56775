"""Valid files cut small, the material of every fuzzer here: most inputs must stay near what is accepted."""

import re
from functools import cache
from pathlib import Path

from tests.hostile.chained import BODIES, Body, chained, raw_body
from tests.hostile.strings import MARKUP, REFUSED, TERMINAL, WORKS
from tests.procedure.procedure_text import whole

ROOT = Path(__file__).parents[2]
_SMALL = 6_000
"""Longer files are cut into small ones: an input that takes long is one that finds little."""

_ITEMS = (
    (
        "bolts",
        "kind: fastener\n    count: 4\n    thread: M10x1.5\n    class: 10.9\n    tighten: [{torque: 50 N·m}]",
    ),
    ("lead", "kind: connection"),
    ("wedge", "kind: aid"),
    ("lid", "kind: cover"),
    ("oil", "kind: fluid"),
    ("tap", "kind: valve"),
    ("padlock", "kind: lock"),
)
_STEPS = (
    "  - step: look\n    do: Look round.\n",
    "  - step: open\n    do: Open it.\n    disconnects: [lead]\n",
    "  - step: close\n    do: Close it.\n    connects: [lead]\n",
    "  - step: measure\n    do: Measure.\n    read: {what: Gap, name: gap, unit: mm, in: 1 to 2 mm}\n",
    "  - step: sees\n    do: Look.\n    look for: Is it dry?\n    because: It drips.\n",
    "  - step: mind\n    do: Lift.\n    danger: {hazard: It falls, consequence: crushing, avoid: stay clear}\n",
)


@cache
def procedures() -> tuple[bytes, ...]:
    """Procedures without an error, the smallest first: shipped ones, the guide's, small ones put together."""
    from runner.procedure.reader import read_procedure

    texts = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "procedures").rglob("*.yaml"))]
    texts += [whole("steps:\n" + step) for step in _STEPS]
    items = "".join(f"  {name}:\n    {about}\n" for name, about in _ITEMS)
    texts += [whole(f"items:\n{items}steps:\n" + "".join(_STEPS))]
    for name, about in _ITEMS:
        texts.append(whole(f"items:\n  {name}:\n    {about}\nsteps:\n{_STEPS[0]}"))
    guide = (ROOT / "procedures" / "README.md").read_text(encoding="utf-8")
    for block in re.findall(r"```yaml\n(.*?)```", guide, re.DOTALL):
        texts += [block, whole(block if "steps:" in block else block + "\nsteps:\n" + _STEPS[0])]
    valid = {text.encode() for text in texts if read_procedure(text.encode())[0] is not None}
    return tuple(sorted(valid, key=lambda each: (len(each), each)))


@cache
def toolboxes() -> tuple[bytes, ...]:
    """Toolboxes without a problem."""
    from runner.toolbox.finding import EXAMPLE
    from runner.toolbox.reader import read_toolbox

    one = "tools:\n  - {name: a, kind: click, range: 20 to 130 N·m}\n"
    more = one + "  - name: b\n    kind: angle gauge\n    range: 0 to 360°\n    serial: '2'\n"
    fixed = "tools:\n  - {name: c, kind: fixed, range: 60 N·m, due on: 2027-01-12}\n"
    valid = [text.encode() for text in (one, more, fixed, EXAMPLE) if not read_toolbox(text).problems]
    assert len(valid) >= 3
    return tuple(valid)


@cache
def logs() -> tuple[tuple[Body, ...], ...]:
    """Entries of logs in order: a small one, parts of a kept one, one sealed."""
    small: list[Body] = [{**body, "data": dict(body["data"])} for body in BODIES[:8]]
    small[0] = {**small[0], "data": {**small[0]["data"], "procedure": _small_linked(), "gates": {}}}
    parts = [tuple(small[:1] + small[1:2]), tuple(small)]
    return tuple(parts)


def _small_linked() -> Body:
    from tests.procedure.procedure_text import linked

    body: Body = linked("items:\n  lead: {kind: connection}\nsteps:\n" + "".join(_STEPS[:3])).to_data()
    return body


@cache
def log_bytes() -> tuple[bytes, ...]:
    """The same as files."""
    return tuple(chained(map(raw_body, bodies)) for bodies in logs())


WORDS: tuple[bytes, ...] = tuple(
    sorted(
        {
            word.encode("utf-8", "surrogatepass")
            for text in (*MARKUP.values(), *TERMINAL.values(), *WORKS.values(), *REFUSED)
            for word in (text,)
        }
        | {
            b": ", b"- ", b"\n", b"\n  ", b"\n    - ", b"[", b"]", b"{", b"}", b"'", b'"', b"#", b" #", b"&a ", b"*a",
            b"<<: ", b"!!", b"!t ", b"|\n", b">\n", b"|-", b"%YAML 1.1\n", b"---\n", b"...\n", b"? ", b"\t", b"\r\n",
            b"\r", b"\xef\xbb\xbf", b"\xff\xfe", b"\xed\xa0\x80", b"\x00", b"~", b"null", b"true", b"none", b",",
            b"2,5",
            b"1e999", b"nan", b".inf", b"9" * 30, b"-1", b"0", b"1/0", b"N\xc2\xb7m", b"\xc2\xb0", b" %", b" to ",
            "±".encode(), b"..", b"../", b"/", b"\\u001b", b"\\x41", b"\\", b"use: x.yaml\n", b"only when: ",
            b"until: ",
            b"before: ", b"repeat: ", b"steps:\n", b"\x18\x18\x18\x18\n", b',"~":"', b"\\ud800", b"1.5", b"NaN",
        }
    )
)  # fmt: skip
"""What means something to one of the readers, or to a terminal."""

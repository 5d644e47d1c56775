"""The procedures that are spoiled: every shipped one, its parts, the guide's examples, the demonstration in pieces."""

import json
from collections.abc import Iterator, Mapping
from pathlib import Path

from tests.procedures.test_guide import EXAMPLES, FILES, whole
from tests.proof.cutting import cut
from tests.proof.mutating import Base, plain

SHIPPED = Path(__file__).parents[2] / "procedures"
WHEELS = ("wheel", "wheel bolts", "rear chocks", "key box")
UNDER = ("work lamp", "undertray", "brace", "brace bolts")
JOINT = ("pinch bolt", "knuckle wedge", "arm")
BUSH = ("bush bolts", "heat shield", "sensor lead")
PIECES: Mapping[str, tuple[str, tuple[str, ...], tuple[str, ...]]] = {
    "wheels, left": ("left", WHEELS, ("arm-out", "stud-in", "brace-tight", "brace-set")),
    "under the car, left": ("left", UNDER, ("arm-out", "stud-in")),
    "joint, left": ("left", JOINT, ("brace-tight", "brace-set")),
    "joint, right": ("right", JOINT, ("brace-tight", "brace-set", "arm-out")),
    "bush, right": ("right", BUSH, ("brace-tight", "brace-set", "arm-out", "stud-in")),
    "bush, left": ("left", (*BUSH, "level rod"), ("brace-tight", "brace-set", "arm-out", "stud-in")),
}
"""Side, items, and steps that ask nothing."""


def bases() -> Iterator[Base]:
    """Every procedure to spoil."""
    texts = {
        str(path.relative_to(SHIPPED)): path.read_text(encoding="utf-8") for path in SHIPPED.rglob("*.yaml")
    }
    texts |= {Path(name).name: text for name, text in texts.items()}
    texts = {name: json.dumps(plain(text), ensure_ascii=False) for name, text in texts.items()}
    for name in (
        "wheel-change.yaml",
        "head-bolts.yaml",
        "ball-joint.yaml",
        "raise-front.yaml",
        "ride-height.yaml",
    ):
        yield Base(name, plain(texts[name]), texts)
    used = {name: json.dumps(plain(whole(text)), ensure_ascii=False) for name, text in FILES.items()}
    for number, example in enumerate(EXAMPLES):
        yield Base(f"guide {number + 1}", plain(whole(example)), used)
    demo = plain(texts["lower-arm.yaml"])
    for name, (side, items, quiet) in PIECES.items():
        yield Base(f"lower-arm, {name}", cut(demo, side=side, items=items, quiet=quiet), texts)


def whole_demonstration() -> Base:
    """The demonstration as it is shipped."""
    texts = {
        str(path.relative_to(SHIPPED)): path.read_text(encoding="utf-8") for path in SHIPPED.rglob("*.yaml")
    }
    texts |= {Path(name).name: text for name, text in texts.items()}
    return Base("lower-arm.yaml", plain(texts["lower-arm.yaml"]), texts)

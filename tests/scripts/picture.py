"""Remake the README's picture from the real app: the demo, carried to the first bush bolt on the second side.

Run: `python -m tests.scripts.picture`. Writes .github/bench.svg.
"""

import asyncio
import tempfile
from pathlib import Path

from runner.bench.picture import svg_of
from runner.run import Run
from runner.start import shipped
from tests.procedures.hand import Hand

PICTURE = Path(__file__).parents[2] / ".github" / "bench.svg"


def _here(run: Run) -> bool:
    view = run.view
    return view.step is not None and (view.step.step, view.step.place, view.demand.member) == (
        "brace-tight",
        "",
        4,
    )


def main() -> None:
    """Carry the demo to the place and draw it."""
    path = shipped("lower-arm")
    assert path is not None
    with tempfile.TemporaryDirectory() as folder:
        hand = Hand(path, Path(folder))
        while not _here(hand.run):
            hand.once()
        svg = asyncio.run(svg_of(hand.run, 100, 30))
        hand.run.close()
    PICTURE.write_text(svg, encoding="utf-8")
    print(PICTURE)


if __name__ == "__main__":
    main()

"""What a large procedure gets: ways back, then answers and choices too, are left out of the exploration at first.

The same agreement with the brute force must hold; and also where put-off steps and flags share coordinates.
"""

import pytest

from runner.proof import deciding, units
from tests.proof.agreement import campaign
from tests.proof.generate import seeded

# What has none of these is explored exactly, as ever.
LEFT_OUT = {"ways back": (("loop",), ()), "answers and choices too": (("loop", "answer", "choice"), ())}
DEEP = 3000


def _agrees(seeds: range) -> None:
    tally = campaign((f"seed {seed}", seeded(seed)) for seed in seeds)
    assert not tally.wrong, "\n\n".join(tally.wrong[:3])
    assert tally.cases == len(seeds)
    assert tally.clean >= 0.3 * len(seeds), tally.text()
    assert tally.undecided <= 0.06 * len(seeds), tally.text()


@pytest.mark.parametrize("left_out", LEFT_OUT.values(), ids=LEFT_OUT)
def test_a_coarse_exploration_agrees(
    left_out: tuple[tuple[str, ...], ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(deciding, "LEFT_OUT", left_out)
    _agrees(range(30_000, 30_060))


def test_shared_coordinates_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(units, "LARGEST_APART", 1)
    _agrees(range(31_000, 31_060))


@pytest.mark.deep
@pytest.mark.parametrize("left_out", LEFT_OUT.values(), ids=LEFT_OUT)
def test_coarse_explorations_agree_on_many(
    left_out: tuple[tuple[str, ...], ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(deciding, "LEFT_OUT", left_out)
    monkeypatch.setattr(units, "LARGEST_APART", 1)
    _agrees(range(40_000, 40_000 + DEEP))
    print(f"\nseeds 40000 to {40_000 + DEEP - 1}, without {left_out}: all agree")

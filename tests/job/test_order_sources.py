"""What an order of tightening rests on is said wherever an order is shown: `?`, `:why` and the ready sheet."""

import pytest

from runner.bench.dialogs.reading import explain
from runner.bench.theme import UNICODE
from runner.joint.sourced import FROM_MEMORY
from runner.plain.drawing import topic
from runner.ready.document import document
from runner.ready.terminal import terminal_lines
from tests.job.bench_hand import Hand
from tests.ready.sheets import sheet

GROUP = """\
items: {{bolts: {{kind: fastener, count: {count}, at start: started,
  tighten: [{{torque: 40 N·m ±4 %, order: {order}}}]}}}}
steps: [{{step: tight, do: Tighten them., tightens: [bolts]}}]
"""


def body(count: int, order: str) -> str:
    return GROUP.format(count=count, order=order)


def shown(count: int, order: str) -> tuple[str, str, str]:
    """`?`, `:why`, and the printed sheet."""
    hand = Hand(body(count, order))
    hand.go("tight")
    view = hand.view
    under = "\n".join(f"{label} {text}" for label, text in explain(view, UNICODE).lines)
    return under, "\n".join(topic("why", view)), "\n".join(terminal_lines(sheet(body(count, order)), 10_000))


# Codes of reference.md section 7: 8 is TS2, 28 M.
@pytest.mark.provisional
def test_a_star_is_shown_with_where_its_row_was_seen():
    for text in shown(8, "star"):
        assert "ASME PCC-1, legacy cross pattern (as transcribed elsewhere)" in text
        assert FROM_MEMORY not in text
    for text in shown(28, "star"):
        assert f"ASME PCC-1, legacy cross pattern ({FROM_MEMORY})" in text
    (stage,) = document(sheet(body(28, "star")))["tightenings"][0]["stages"]
    assert [(each["name"], each["seen"]) for each in stage["order_sources"]] == [
        ("ASME PCC-1, legacy cross pattern", "memory")
    ]
    assert document(sheet(body(28, "star")))["from_memory"] == FROM_MEMORY
    assert document(sheet(body(8, "star")))["from_memory"] is None


def test_the_numbers_of_the_order_stand_beside_its_source():
    under, why, _ = shown(5, "star")
    for text in (under, why):
        assert "star: 1 3 5 2 4" in text
        assert "wheels with five studs - of low authority" in text


def test_an_order_of_no_standard_says_so():
    for text in shown(6, "from the middle"):
        assert "no standard has numbers for it" in text


@pytest.mark.parametrize("order", ["around", "in line", "[2, 1, 3, 4]"])
def test_an_order_that_needs_no_source_is_shown_without_one(order):
    for text in shown(4, order):
        assert "PCC-1" not in text
        assert "Order of tightening" not in text

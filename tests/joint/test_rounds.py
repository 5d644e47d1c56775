"""The torques of the rounds, exact, against the published shares."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from runner.joint.rounds import RoundsError, rounds, share_of


def per_cent(*shares: str) -> list[Decimal]:
    return [Decimal(share) for share in shares]


@pytest.mark.parametrize(
    ("shares", "torques"),
    [(("20", "50", "100"), ("40", "100", "200")), (("30", "70", "100"), ("60", "140", "200"))],
)
def test_rounds_of_a_flange_of_200(shares, torques):
    """Reference.md section 7: target 200 N·m gives 40–60, 100–140, 200 (D) from PCC-1's 20–30, 50–70, 100 %."""
    assert rounds(Decimal(200), per_cent(*shares)) == tuple(Decimal(torque) for torque in torques)


def test_rounds_of_thirty_sixty_and_the_whole():
    """Reference.md section 7: 30, 60 and 100 % (S24, TS)."""
    assert rounds(Decimal(45), per_cent("30", "60", "100")) == (Decimal("13.5"), Decimal(27), Decimal(45))


@given(
    st.decimals("0.001", "99999", places=9),
    st.sets(st.decimals("0.01", "99.99", places=2), max_size=6),
)
@settings(deadline=None)
def test_rounds_rise_to_the_whole_torque_and_lose_no_digit(target, below):
    shares = [*sorted(below), Decimal(100)]
    torques = rounds(target, shares)
    assert torques[-1] == target
    assert list(torques) == sorted(torques)
    for torque, share in zip(torques, shares, strict=True):
        assert Fraction(torque) == Fraction(target) * Fraction(share) / 100


def test_a_share_is_written_plainly():
    assert str(share_of(Decimal("200"), Decimal("50"))) == "100"


@pytest.mark.parametrize(
    ("shares", "because", "at"),
    [
        (("30", "30", "100"), "30 % is no more than the round before it", 1),
        (("60", "30", "100"), "30 % is no more than the round before it", 1),
        (("0", "100"), "0 % is no more than nothing", 0),
        (("30", "60"), "the last round is not at the whole torque", 1),
        (("50", "110"), "the last round is not at the whole torque", 1),
        ((), "the last round is not at the whole torque", 0),
    ],
)
def test_shares_that_bring_no_group_to_its_torque_are_refused(shares, because, at):
    with pytest.raises(RoundsError, match=because) as refused:
        rounds(Decimal(200), per_cent(*shares))
    assert refused.value.at == at

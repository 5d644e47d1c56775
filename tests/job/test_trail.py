"""The steps done: to be read as a tuple, shared by the jobs along one way, apart where two ways part."""

import pytest

from runner.job.trail import Trail


def test_it_reads_as_the_tuple_it_stands_for():
    trail, names = Trail(("a", "b")).then("c").then("a"), ("a", "b", "c", "a")
    assert tuple(trail) == names
    assert len(trail) == 4
    assert tuple(reversed(trail)) == names[::-1]
    assert trail[::-1].index("c") == 1
    assert trail[-1] == trail[0] == "a"
    assert trail[1:] == names[1:]
    assert trail[-2:] == names[-2:]
    assert "c" in trail
    assert "d" not in trail
    with pytest.raises(IndexError):
        trail[4]


def test_what_it_was_stays_when_it_is_gone_on_from():
    one = Trail().then("a")
    two = one.then("b")
    assert tuple(one) == ("a",)
    assert one[-1] == "a"
    assert "b" not in one
    assert tuple(two) == ("a", "b")


def test_two_ways_on_from_one_place_know_nothing_of_each_other():
    start = Trail().then("a")
    left, right = start.then("b"), start.then("c")
    further = left.then("d")
    assert (tuple(left), tuple(right), tuple(further)) == (("a", "b"), ("a", "c"), ("a", "b", "d"))
    assert tuple(right.then("e")) == ("a", "c", "e")


def test_trails_are_equal_by_their_steps():
    assert Trail(("a",)).then("b") == Trail(("a", "b"))
    assert hash(Trail(("a",)).then("b")) == hash(Trail(("a", "b")))
    assert Trail(("a",)) != Trail(("a", "b"))

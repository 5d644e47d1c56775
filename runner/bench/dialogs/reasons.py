"""Asking for a reason: the author's and the trade's stock reasons, or one's own words."""

from collections.abc import Callable

from runner.bench.form import Field, Values
from runner.job.demand import Option

_OWN = "own words"
ASKED = "asked before it was done"
"""Stands for what is not typed yet where the proof is asked; it is never recorded."""


def reason_fields(stock: tuple[str, ...], when: Callable[[Values], bool] | None = None) -> tuple[Field, ...]:
    """A pick among stock reasons with own words last; only a line to type on where there are none."""
    if not stock:
        return (Field("reason words", "Reason", when=when),)
    options = (*(Option(reason, reason) for reason in stock), Option(_OWN, "another reason, in your words"))
    return (
        Field("reason", "Reason", options, typing=False, when=when),
        Field("reason words", "Reason in your words", when=lambda values: values.get("reason") == _OWN),
    )


def reason_of(values: Values) -> str:
    """The reason given."""
    picked = values.get("reason", _OWN)
    return values.get("reason words", "") if picked == _OWN else picked

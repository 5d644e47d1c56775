"""A refusal: what was not accepted and what would lift it. Refusals are values, never exceptions."""

from runner.frozen import Frozen


class Refusal(Frozen):
    """`text` says what is not accepted and why; `lift` what would lift it, or whom to fetch."""

    text: str
    lift: str = ""

"""The brute force: the engine itself, driven over every lawful choice of a small procedure.

It knows no rule of the work. It asks `demand` what is asked, answers it with `decide` in every lawful way, flags what
the engine blocks, lets go of it as tests/proof/README would have it ("flag and go on"), and goes on. Nothing here
imports `runner.proof`.
"""

from tests.proof.brute.found import Broken, Fault, Unfinished
from tests.proof.brute.search import BUDGET, brute

__all__ = ["BUDGET", "Broken", "Fault", "Unfinished", "brute"]

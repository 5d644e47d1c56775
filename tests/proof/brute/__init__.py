"""The brute force: the engine itself, driven over every lawful choice of a small procedure.

It knows no rule of the work. It asks `demand` what is asked, answers it with `decide` in every lawful way, flags what
the engine blocks, lets go of that, and goes on. Nothing here imports `runner.proof`. Flag and go on means:

- a need that does not hold is let go (P3, P4, at a joint P11); an act that is blocked is let go, its item stays as it
  is, and the next act follows (P6, or P7 where only an `only when` is against it);
- a change that is not allowed is made all the same, and the engine is asked that it would have refused (P5);
- what is due, is not open and cannot be opened by anything that can be taken up is dropped: P9, P10 where it comes
  before a condition. Where its window had been open, somebody passed it by, and the run ends: that is what last
  chances are for (`missed`);
- the clock may take the work on at any moment of a gate and before it; what was open then was passed by by nobody;
- a step with an injury notice warns of every hazard from there on (P13); one that is put off may come at any time, and
  warns of nothing.
"""

from tests.proof.brute.found import Broken, Fault, Unfinished
from tests.proof.brute.search import BUDGET, brute

__all__ = ["BUDGET", "Broken", "Fault", "Unfinished", "brute"]

"""An independent judge of a log: reads its bytes and the linked procedure in its header, and nothing of the engine.

Written from the words of the design (Semantics that must be exact), not from the engine's code, so that a rule
missing there is found here. `judge(bytes)` gives every fault it finds, each as `entry N: RULE: what is wrong`.
"""

from tests.judge.bench import Verdict, judge

__all__ = ["Verdict", "judge"]

"""The rules of the proof: one name, one number, one grade each (`registry`), and a page each (`pages`).

Who checks needs the registry only; the pages are read by `check --explain` and by the SARIF output.
"""

from runner.proof.rules.registry import RULES, Rule, rule_named

__all__ = ["RULES", "Rule", "rule_named"]

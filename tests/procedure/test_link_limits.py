"""Limits of what a procedure may unfold into, each with its own message."""

from procedure_text import errors

from runner.procedure import link_report


def values(number):
    return f"[{', '.join(str(value) for value in range(number))}]"


def test_too_many_linked_steps():
    (found,) = errors(f"""
locations: {{a: {values(150)}, b: {values(150)}}}
steps: [{{each: a, steps: [{{each: b, steps: [{{step: s, do: S}}]}}]}}]""")
    assert (found.rule, found.line) == ("too-large", 14)
    assert "more than 20,000 linked steps" in found.message


def test_too_many_items():
    (found,) = errors(f"""
locations: {{a: {values(150)}, b: {values(150)}}}
items: {{x: {{kind: aid, each: [a, b]}}}}
steps: [{{step: s, do: S}}]""")
    assert (found.rule, found.line) == ("too-large", 14)
    assert "more than 20,000 items" in found.message


def test_a_name_that_stands_for_too_many_places(monkeypatch):
    monkeypatch.setattr(link_report, "MOST_TOUCHES", 2000)
    (found,) = errors(f"""
locations: {{a: {values(100)}, b: {values(100)}}}
items: {{x: {{kind: aid, each: a}}}}
steps: [{{each: b, steps: [{{step: s, do: S, needs: {{x: in}}}}]}}]""")
    assert (found.rule, found.line) == ("too-large", 15)
    assert "acts, needs and names" in found.message


def test_files_that_use_files_many_times_each(monkeypatch):
    monkeypatch.setattr(link_report, "MOST_NODES", 1000)
    used = {f"f{n}": f"procedure: f{n}\nsteps:\n" + f"  - {{use: f{n + 1}.yaml}}\n" * 20 for n in range(1, 8)}
    used["f8"] = "procedure: f8\nsteps: [{step: a, do: A}]"
    (found,) = errors("steps: [{use: f1.yaml}]", **used)
    assert found.rule == "too-large"


def test_two_places_that_would_share_an_id():
    (found,) = errors("""
locations: {a: ["1", "1.1"], b: ["1.1", "1"]}
steps: [{each: a, steps: [{each: b, steps: [{step: s, do: S}]}]}]""")
    assert found.rule == "same-name"
    assert '"s@1.1.1"' in found.message

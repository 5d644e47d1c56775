"""The map in a terminal: golden lines, width, ASCII, hostile text."""

import pytest

from runner.map.lines import map_of
from runner.map.terminal import terminal_lines
from runner.map.widths import columns, cut, wrapped
from runner.procedure.finding import Finding, Station
from tests.map.forty import FORTY
from tests.map.small import SMALL, linked

GOLDEN = """\
Valve box (valve-box, revision 4)
Fits: Invented box
power: o on (hazardous), f off

o     1 isolate          Switch off.                                        →off
f     2 lid-off          Take the lid off.                                     ○
│ A   3 lid-on           Put the lid back.                           put off A ●
│ ┊   4 lead-off, left   Unplug the lead.                                      ○
│ ┊   5 lead-on, left    Plug the lead in.                                     ●
│ ┊   6 lead-off, right  Unplug the lead.                                      ○
│ ┊   7 lead-on, right   Plug the lead in.                                     ●
? █   8 look             The contacts are
┃ █       ├─ clean: go on
┃ █       ├─ dirty:
┃ █ 8.1     wipe         Wipe them.
┃ █         ↺ again from 8, at most 2 times, then stop
┃ █       ├─ burnt: ■ stop
┃ █   9 live             Switch on.                                        ! →on
o █  10 release          Have it released.                                     H
┃ █       ├─ hold point refused: ↺ again from 8, at most once, then stop
┃ A     ■ End: close out and seal

Put off
A  3 lid-on: until power is on, before the end
   can be done from 8 look; the lamps are looked at

○ opens  ◐ part of the way  ● closes an item  ! injury notice  H hold point
├─ way out  ↺ back to a step  ■ stop or end  ▾ used file or part
left: letter: condition changes, │ holds, ┃ holds (hazardous), ? several values
A … A: put off, and due; ┊ waits, █ its window can be open
"""


def lines(text: str, width: int = 80, *, ascii_only: bool = False) -> list[str]:
    return terminal_lines(map_of(linked(text)), width, ascii_only=ascii_only)


def test_a_small_procedure_at_80_columns():
    assert "\n".join(lines(SMALL)) + "\n" == GOLDEN


@pytest.mark.parametrize("width", [60, 80, 120, 200])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_no_line_is_wider_than_the_terminal(width: int, ascii_only: bool):
    for line in lines(FORTY, width, ascii_only=ascii_only):
        assert columns(line) <= width
        assert not ascii_only or line.isascii()


def test_forty_steps_are_forty_lines():
    numbered = [line for line in lines(FORTY, 100) if " do" not in line]
    steps = [line for line in map_of(linked(FORTY)).lines if line.kind == "step"]
    assert len(steps) == 40
    for step in steps:
        assert sum(f" {step.number} " in line and step.label[:8] in line for line in numbered) >= 1


def test_the_legend_has_at_most_six_lines():
    made = lines(FORTY)
    legend = made[len(made) - made[::-1].index("") :]
    assert 1 <= len(legend) <= 6
    assert legend[0].startswith("○")


def test_a_path_is_numbered_in_the_margin_and_told_below():
    procedure = linked(SMALL)
    path = tuple(
        Station(procedure.by_id[name].mark, name, "", name, does)
        for name, does in (("isolate", ""), ("look", "answer dirty"), ("wipe", ""), ("look", "answer clean"))
    )
    finding = Finding("job.yaml", 3, 5, "error", "left-open", "the lid is left off", path=path, node="live")
    made = terminal_lines(map_of(procedure, finding, "Marked: finding 1 of 1"), 80)
    assert "Marked: finding 1 of 1" in made
    assert any(line.startswith("2,4 ") and "look" in line for line in made)
    assert any("✗ live" in line for line in made)
    assert "  2  look: answer dirty" in made
    assert "job.yaml:3:5: error: the lid is left off" in made


def test_hostile_words_neither_steer_the_terminal_nor_break_the_page():
    procedure = linked(SMALL)
    nasty = "\x1b]0;x\x07\u202eabc" + "漢字" * 60 + "W" * 200
    nodes = tuple(node.model_copy(update={"do": nasty, "place": nasty}) for node in procedure.nodes)
    made = map_of(procedure.model_copy(update={"nodes": nodes, "title": nasty, "fits": nasty}))
    for line in terminal_lines(made, 80):
        assert line.isprintable()
        assert "\u202e" not in line
        assert columns(line) <= 80


def test_cut_and_wrapped_keep_to_the_room():
    assert cut("abcdef", 4) == "abc…"
    assert cut("漢字漢字", 5) == "漢字…"
    assert cut("abc", 3) == "abc"
    assert wrapped("one two three four", 8, 2) == ("one two", "three f…")
    assert wrapped("abcdefghij", 4, 3) == ("abcd", "efgh", "ij")
    assert wrapped("", 4, 3) == ()

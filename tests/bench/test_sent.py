"""Electronic wrenches that type like a keyboard: no line lost, none joined, and no fastening without a hand's Enter."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from runner.bench.desk import Key
from runner.bench.sent import LEAST, MOST, Arriving, Waiting
from runner.job import actions as a
from runner.toolwords import is_value
from runner.view import View
from tests.bench.hands import Hands
from tests.bench.samples import DEMANDS, TIGHTEN, Refusal, SampleRun, disk_full, sample, view_of

GAP = 0.03
READ = TIGHTEN.but(methods=("measured",), tool="torque wrench EW 0060")


def fasteners(count: int = 12) -> list[View]:
    return [view_of(READ.but(member=n), seq=40 + n) for n in range(1, count + 1)]


@dataclass
class Bench:
    """Hands at a desk with a clock of their own, and a wrench whose keys come a few milliseconds apart."""

    hands: Hands
    at: float = 100.0
    quick: float = 0.004

    @classmethod
    def on(cls, *views: View, **run: object) -> "Bench":
        return cls(Hands(SampleRun(list(views), **run)))  # type: ignore[arg-type]

    @property
    def run(self) -> SampleRun:
        assert isinstance(self.hands.desk.run, SampleRun)
        return self.hands.desk.run

    def key(self, name: str, after: float) -> None:
        self.at += after
        char = name if len(name) == 1 else " " if name == "space" else None
        self.hands.desk.key(Key(name, char, self.at))

    def press(self, *names: str) -> None:
        """Keys of a hand, each when the screen has caught up."""
        for name in names:
            self.hands.desk.painted(self.hands.desk.shown, self.at + 0.1)
            self.key(name, 0.5)

    def send(self, *lines: str, after: float = 0.2) -> None:
        """Lines of a wrench, so long after one another."""
        for line in lines:
            for place, char in enumerate(line):
                self.key("space" if char == " " else char, self.quick if place else after)
            self.key("enter", self.quick)

    @property
    def values(self) -> list[str]:
        return [act.raw for act in self.run.done if isinstance(act, a.Tighten)]

    @property
    def screen(self) -> str:
        return self.hands.screen()


def test_a_line_sent_is_shown_for_the_fastener_and_one_enter_by_hand_confirms_it() -> None:
    bench = Bench.on(*fasteners())
    bench.send("  60,2 N·m")
    assert bench.run.tried == [], "its own Enter confirms nothing"
    assert "60,2 N·m" in bench.screen
    assert "from the wrench" in bench.screen
    bench.press("enter")
    assert [(act.member, act.method, act.raw) for act in bench.run.done if isinstance(act, a.Tighten)] == [
        (1, "measured", "60,2 N·m")
    ]
    assert "from the wrench" not in bench.screen


def test_lines_sent_in_a_row_wait_for_the_fasteners_in_turn() -> None:
    bench = Bench.on(*fasteners())
    bench.send("60.2 N·m", "60.4 N·m", "59.9 N·m", after=0.005)
    assert "from the wrench (2 more)" in bench.screen
    bench.press("enter", "enter", "enter")
    assert bench.values == ["60.2 N·m", "60.4 N·m", "59.9 N·m"]
    bench.press("enter")
    assert len(bench.run.done) == 3, "an empty line confirms no value"


def test_lines_that_come_while_an_entry_is_on_its_way_wait_too() -> None:
    bench = Bench.on(*fasteners())
    bench.send("60.2 N·m")
    bench.hands.recorder.hold = True
    bench.press("enter")
    bench.send("60.4 N·m", "59.9 N·m")
    assert bench.hands.desk.saving
    bench.hands.recorder.release()
    assert "60.4 N·m" in bench.screen
    bench.press("enter")
    bench.hands.recorder.release()
    bench.press("enter")
    bench.hands.recorder.release()
    assert bench.values == ["60.2 N·m", "60.4 N·m", "59.9 N·m"]


@pytest.mark.parametrize("split", range(1, 9))
def test_an_entry_that_lands_in_the_middle_of_a_line_does_not_cut_it(split: int) -> None:
    bench = Bench.on(*fasteners())
    bench.send("60.2 N·m")
    bench.hands.recorder.hold = True
    bench.press("enter", "5")
    for place, char in enumerate("60.4 N·m"):
        if place == split:
            bench.hands.recorder.release()
        bench.key("space" if char == " " else char, bench.quick if place else 0.2)
    if split == 8:
        bench.hands.recorder.release()
    bench.key("enter", bench.quick)
    assert "▶ 5 " in bench.screen, "what was typed by hand stands alone on its line"
    assert "(1 sent by the wrench)" in bench.screen
    bench.press("escape", "enter")
    bench.hands.recorder.release()
    assert bench.values == ["60.2 N·m", "60.4 N·m"]


def test_escape_drops_the_line_shown_and_shows_the_next() -> None:
    bench = Bench.on(*fasteners())
    bench.send("6.2 N·m", "60.4 N·m")
    bench.press("escape")
    assert "Dropped, and not recorded: 6.2 N·m" in bench.screen
    bench.press("enter")
    assert bench.values == ["60.4 N·m"]


def test_an_enter_held_down_or_bouncing_confirms_no_line() -> None:
    bench = Bench.on(*fasteners())
    bench.send("60.2 N·m", "60.4 N·m")
    for _ in range(9):
        bench.hands.desk.painted(bench.hands.desk.shown, bench.at)
        bench.key("enter", 0.04)
    assert bench.run.tried == []


def test_a_line_not_yet_on_the_screen_is_not_confirmed() -> None:
    bench = Bench.on(*fasteners())
    bench.send("60.2 N·m")
    bench.key("enter", 0.5)
    assert bench.run.tried == []
    assert "before this was on the screen" in bench.screen


def test_a_refused_line_stays_to_be_dropped_or_corrected() -> None:
    bench = Bench.on(*fasteners(), refuse=Refusal("602 N·m is about ten times 60 N·m", "read again"))
    bench.send("602 N·m", "60.4 N·m")
    bench.press("enter")
    assert "Refused: 602 N·m" in bench.screen
    assert "from the wrench" in bench.screen
    bench.press("escape", "enter")
    assert bench.values == ["60.4 N·m"]


def test_a_slow_wrench_is_as_typing() -> None:
    bench = Bench.on(*fasteners())
    bench.quick = 0.05
    bench.hands.desk.painted(bench.hands.desk.shown, bench.at)
    bench.send("60.2")
    assert bench.values == ["60.2"]


def test_a_hand_that_rolls_over_its_last_two_keys_is_a_hand() -> None:
    bench = Bench.on(*fasteners())
    bench.press("6")
    bench.key("0", 0.2)
    bench.key("enter", 0.02)
    assert bench.values == ["60"]


@pytest.mark.parametrize(
    "view",
    [
        sample("act"), sample("look"), sample("question"), sample("confirm"), sample("blocked"), sample("seal"),
        view_of(TIGHTEN.but(methods=("click",))),
        view_of(TIGHTEN.but(methods=("snug",), unit="", big="snug")),
    ],
    ids=lambda view: f"{view.demand.kind} {view.demand.methods}",
)  # fmt: skip
def test_a_line_where_nothing_measured_is_asked_confirms_nothing_and_is_said(view: View) -> None:
    bench = Bench.on(view)
    bench.hands.desk.painted(bench.hands.desk.shown, bench.at)
    bench.send("1", "12 N·m")
    assert bench.run.tried == []
    said = " ".join(bench.screen.split())
    assert "A wrench sent 12 N·m; nothing measured is asked here. It is not recorded." in said
    form = bench.hands.desk.scene.form
    assert form is None or form.picked is None


@pytest.mark.parametrize("key", ["f2", "f4", "f7", "f1", "f6", "f10"])
def test_a_line_under_a_dialog_confirms_nothing_and_leaves_nothing(key: str) -> None:
    bench = Bench.on(*fasteners())
    bench.press(key)
    before = bench.hands.desk.scene.form
    stood = (before.picked, before.entry.text, before.place) if before else None
    bench.hands.desk.painted(bench.hands.desk.shown, bench.at)
    bench.send("60.2 N·m", after=1.0)
    after = bench.hands.desk.scene.form
    assert bench.run.tried == []
    assert len(bench.hands.desk.stack) == 1
    assert (after.picked, after.entry.text, after.place) == stood if after else stood is None
    assert "A wrench sent 60.2 N·m; nothing measured is asked here." in " ".join(bench.screen.split())


def test_a_letter_in_a_line_gives_nobodys_word() -> None:
    bench = Bench.on(sample("seal"))
    bench.press("1", "enter")
    bench.hands.desk.painted(bench.hands.desk.shown, bench.at)
    bench.send("60.2 yY", after=1.0)
    assert bench.run.tried == []
    bench.press("y")
    assert len(bench.run.done) == 1


def test_a_number_scanned_where_a_number_is_asked_stands_on_the_line_unconfirmed() -> None:
    bench = Bench.on(sample("new part"), sample("act", seq=42))
    bench.hands.desk.painted(bench.hands.desk.shown, bench.at)
    bench.send("T-1042/7", after=1.0)
    assert bench.run.tried == []
    assert "quicker than a hand types" in bench.screen
    bench.press("enter")
    assert [act.number for act in bench.run.done if isinstance(act, a.ConfirmPart)] == ["T-1042/7"]


def test_a_note_between_keeps_the_line_and_a_deviation_for_its_fastener_drops_it() -> None:
    bench = Bench.on(view_of(READ.but(member=1)), view_of(READ.but(member=1), seq=42), *fasteners()[1:])
    bench.send("57 N·m")
    bench.press("f2", "x", "enter")
    assert "57 N·m" in bench.screen
    bench.press("f4", "1", "enter", "5", "7", "enter", "1", "enter", "C", "y", "enter", "y")
    assert isinstance(bench.run.done[-1], a.Deviate)
    assert "Dropped: 57 N·m, which a wrench sent for what was asked before." in bench.screen
    bench.press("enter")
    assert bench.values == []


def test_what_interrupts_a_round_keeps_its_lines() -> None:
    bench = Bench.on(*fasteners(2))
    bench.send("60.2 N·m", "60.4 N·m")
    bench.run.timed = sample("cue", seq=41)
    bench.hands.desk.tick()
    assert "60.2 N·m" not in bench.screen
    bench.run.timed = None
    bench.hands.desk.tick()
    bench.press("enter", "enter")
    assert bench.values == ["60.2 N·m", "60.4 N·m"]


def test_a_line_that_could_not_be_recorded_is_tried_again_by_hand_alone() -> None:
    bench = Bench.on(*fasteners(), fail=[disk_full()])
    bench.send("60.2 N·m")
    bench.press("enter")
    assert "NOT RECORDED" in bench.screen
    bench.send("60.4 N·m")
    assert "NOT RECORDED" in bench.screen
    assert bench.values == []
    bench.press("enter")
    assert bench.values == ["60.2 N·m"]
    assert "60.4 N·m" in bench.screen


def test_more_lines_than_may_wait_are_said() -> None:
    bench = Bench.on(*fasteners())
    bench.send(*(f"60.{n} N·m" for n in range(MOST + 2)))
    assert f"{MOST} lines of the wrench wait already: 60.{MOST + 1} N·m was not taken." in bench.screen


def test_a_reading_with_a_unit_of_its_own_is_a_value_and_a_part_number_is_none() -> None:
    assert all(map(is_value, ["60.2 N·m", "60,2Nm", "44 ft-lb", "90°", "12.5 mm"]))
    assert not any(map(is_value, ["60", "T-1042", "60 x", "", "N·m"]))


# Any order of hand and wrench

LINES = st.from_regex(r" {0,2}[1-9][0-9]{1,2}[.,][0-9]( ?(N·m|Nm|lbf·ft))?", fullmatch=True)
HAND = st.sampled_from(["enter", "escape", "7", "backspace", "f2", "f1", "tab", "up", "space"])
EVENTS = st.lists(
    st.one_of(
        st.tuples(st.just("line"), LINES, st.floats(0.031, 0.4)),
        st.tuples(st.just("close line"), LINES, st.floats(0.0, 0.02)),
        st.tuples(st.just("hand"), HAND, st.floats(0.031, 0.6)),
        st.tuples(st.just("saved"), st.just(""), st.just(0.0)),
    ),
    max_size=30,
)


@given(EVENTS)
@settings(max_examples=40)
def test_in_any_order_no_line_is_lost_or_joined_and_each_fastening_has_an_enter_of_its_own(
    events: Iterable[tuple[str, str, float]],
) -> None:
    bench = Bench.on(*fasteners(60))
    desk, recorder = bench.hands.desk, bench.hands.recorder
    recorder.hold = True
    sent: list[str] = []
    ended = True
    for kind, what, after in events:
        before = len(bench.run.tried)
        desk.painted(desk.shown, bench.at)
        if kind == "saved":
            recorder.release()
            continue
        if kind == "hand":
            bench.key(what, after)
            assert len(bench.run.tried) - before <= (what == "enter"), "one fastening to one Enter by hand"
            ended = what == "enter"
            continue
        # A line on the heels of another follows its Enter; one on the heels of a hand's letter cannot be told.
        bench.send(what, after=after if kind == "line" or ended else 0.05)
        ended = True
        sent.append(what.strip())
        assert len(bench.run.tried) == before, "no line confirms anything"
    recorder.release()
    left = [*([desk._sent.shown] if desk._sent.shown else []), *desk._sent.lines]
    known = [*bench.values, *left]
    typed_too = [value for value in known if value not in sent]
    assert all(
        set(value) <= set("7 ")
        or value.endswith("7")
        or value[:-1] in sent
        or any(line.startswith(value.rstrip("7 ")) for line in sent)
        for value in typed_too
    ), "changed by hand alone"
    order = [value for value in known if value in sent]
    places = iter(sent)
    assert all(any(value == line for line in places) for value in order), "in the order in which they came"


@given(st.lists(LINES, min_size=1, max_size=12), st.data())
@settings(max_examples=40)
def test_with_enter_and_escape_every_line_is_recorded_or_dropped_once_and_in_order(
    lines: list[str], data: st.DataObject
) -> None:
    bench = Bench.on(*fasteners(60))
    recorder, desk = bench.hands.recorder, bench.hands.desk
    recorder.hold = data.draw(st.booleans())
    done: list[str] = []

    def by_hand(key: str) -> None:
        shown = desk._sent.shown if not desk.saving else ""
        bench.press(key)
        done.extend([shown] if shown else [])

    for line in lines:
        bench.send(line, after=data.draw(st.floats(0.0, 0.3)))
        if data.draw(st.booleans()):
            by_hand(data.draw(st.sampled_from(["enter", "escape"])))
        if data.draw(st.booleans()):
            recorder.release()
    for _ in lines:
        recorder.release()
        by_hand("enter")
    recorder.release()
    assert done == [line.strip() for line in lines]
    dropped = list(done)
    for value in bench.values:
        dropped.remove(value)
    assert len(bench.values) + len(dropped) == len(lines)
    assert (desk._sent.shown, desk._sent.lines) == ("", [])


@given(st.lists(st.tuples(st.sampled_from("60.2 N·mx"), st.integers(0, 12)), max_size=30))
def test_only_a_line_that_is_quick_throughout_was_sent(keys: list[tuple[str, int]]) -> None:
    arriving = Arriving(GAP)
    at, letters, quick = 0.0, "", False
    for char, after in keys:
        at += after / 128  # in steps that a float holds exactly
        quick = after / 128 < GAP and bool(letters)
        letters = letters + char if quick else char
        assert arriving.key("space" if char == " " else char, char, at, bare=False) is None
        assert arriving.began == (letters == char and not quick)
    at += 1 / 128
    line = arriving.key("enter", None, at, bare=False)
    assert line == (letters if len(letters) >= LEAST and letters.strip() else None)
    assert arriving.text == ""


def test_the_waiting_line_that_is_not_confirmed_is_the_next_again() -> None:
    waiting = Waiting(["a", "b"])
    assert waiting.show() == "a"
    assert waiting.show() == ""
    waiting.put_back()
    assert waiting.lines == ["a", "b"]
    assert (waiting.show(), waiting.done(), waiting.show()) == ("a", "a", "b")


def test_a_reading_takes_the_line_of_a_gauge_that_types() -> None:
    bench = Bench.on(view_of(replace(DEMANDS["reading"])), sample("act", seq=42))
    bench.send("1.85 mm")
    bench.press("enter")
    assert [act.raw for act in bench.run.done if isinstance(act, a.Read)] == ["1.85 mm"]

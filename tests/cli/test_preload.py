"""`witnessmark preload`: the answer at the counter, in words and as JSON."""

import json

import pytest

from runner.cli.exits import Exit
from runner.joint.friction import CONDITIONS
from runner.joint.preload import FORMS
from tests.cli.conftest import Cli

ASKED = ("preload", "M10x1.5", "10.9", "60", "N·m")


def document(cli: Cli, *words: str) -> dict[str, object]:
    code, out, err = cli(*words, "--json")
    assert (code, err) == (Exit.OK, "")
    assert out.isascii()
    return json.loads(out)  # type: ignore[no-any-return]


def test_the_answer_of_the_issue(cli: Cli) -> None:
    """Exact form with DKm 12.815 (reference.md 4a): 60 N·m gives 28.5 to 42.7 kN; proof 48.1 (TS), yield 54.5 kN."""
    code, out, err = cli(*ASKED, "--friction", "0.10..0.16")
    assert (code, err) == (Exit.OK, "")
    for said in (
        "M10x1.5 10.9 at 60 N·m",
        "Preload            28.5 to 42.7 kN",
        "59 to 89 % of 48.1 kN",
        "52 to 78 % of 54.5 kN",
        "T = F · [d2/2 · tan(φ + ρ′) + μ · Db/2]",
        "μ   0.10 to 0.16",
        "Source: ISO 4014, least washer face of hexagon heads (from memory, check the standard)",
        "This answer rests on a value from memory, check the standard.",
        "VDI 2230-1:2015",
    ):
        assert said in out
    assert "assumed" not in out
    assert "Error" not in out
    assert all(line.isprintable() for line in out.splitlines())


def test_friction_that_is_not_stated_is_said_to_be_assumed(cli: Cli) -> None:
    _, out, _ = cli(*ASKED)
    assert "0.10 to 0.16, assumed: state it with --friction" in out
    stated, assumed = document(cli, *ASKED, "--friction", "0.10 to 0.16"), document(cli, *ASKED)
    assert (stated["friction_assumed"], assumed["friction_assumed"]) == (False, True)
    assert stated["preload_newtons"] == assumed["preload_newtons"]


def test_json_has_the_numbers_formulas_and_sources(cli: Cli) -> None:
    found = document(cli, *ASKED, "--friction", "0.12")
    assert found["thread"] == "M10x1.5"
    assert found["torque"] == {"value": "60", "unit": "N·m"}
    assert found["preload_newtons"]["low"] == pytest.approx(36_600, abs=1)  # type: ignore[index]
    assert found["proof_load_newtons"] == pytest.approx(48_100, rel=0.007)
    assert found["yields"] == "no"
    assert found["grade"] is None
    assert found["from_memory"] == "from memory, check the standard"
    titles = [working["title"] for working in found["workings"]]  # type: ignore[attr-defined]
    assert titles == ["Preload", "Most at assembly (90 % of yield)"]


def test_what_rests_on_no_memory_does_not_say_so(cli: Cli) -> None:
    """Short form and SAE grade: Shigley's text alone (TS)."""
    words = ("preload", "1/2-20", "gr. 5", "75", "lbf·ft", "--nut-factor", "0.2")
    _, out, _ = cli(*words)
    assert "from memory" not in out
    found = document(cli, *words)
    assert found["from_memory"] is None
    assert found["preload_newtons"]["high"] == pytest.approx(101.686e3 / (0.2 * 12.7), rel=1e-5)  # type: ignore[index]


def test_a_torque_that_makes_no_sense_is_named_with_the_slip(cli: Cli) -> None:
    code, out, _ = cli("preload", "M10", "10.9", "60", "lbf·ft")
    assert code == Exit.OK
    assert "Advice: 60 lbf·ft on M10x1.5 10.9" in out
    assert "60 lbf·ft where 60 N·m was meant?" in out
    assert document(cli, "preload", "M10", "10.9", "600", "N·m")["grade"] == "error"


def test_past_yield_no_preload_is_told(cli: Cli) -> None:
    _, out, _ = cli("preload", "M10", "8.8", "60", "lbf·ft")
    assert "Preload            past the yield load, 37.1 kN, where no preload is told from a torque" in out
    found = document(cli, "preload", "M10", "8.8", "60", "lbf·ft")
    assert found["preload_newtons"] == {"low": None, "high": None}
    assert found["yields"] == "yes"
    _, out, _ = cli("preload", "M10", "10.9", "80", "N·m")
    assert "Preload            37.9 kN to past the yield load, 54.5 kN" in out
    perhaps = document(cli, "preload", "M10", "10.9", "80", "N·m")
    assert perhaps["yields"] == "perhaps"
    assert perhaps["preload_newtons"]["high"] is None  # type: ignore[index]


def test_prevailing_torque_is_taken_off_and_its_nut_judged(cli: Cli) -> None:
    plain = document(cli, *ASKED)
    locking = document(cli, "preload", "M10", "10.9", "64", "N·m", "--prevailing", "4", "N·m")
    assert locking["preload_newtons"] == plain["preload_newtons"]
    _, out, _ = cli(*ASKED, "--prevailing", "0.5", "N·m")
    assert "no longer locks" in out
    assert "Source: ISO 2320" in out


def test_the_face_may_be_described(cli: Cli) -> None:
    def low(*words: str) -> float:
        return document(cli, *ASKED, *words)["preload_newtons"]["low"]  # type: ignore[index,no-any-return]

    assert low("--bearing", "12.815", "mm") == pytest.approx(low())
    assert low("--head", "14.63", "mm", "--hole", "11", "mm") == pytest.approx(low())
    assert low("--head", "20", "mm") < low()  # a wider face, the standard hole: more rubs
    inch = ("preload", "1/2-20", "gr. 5", "75", "lbf·ft")
    assert document(cli, *inch)["bearing_assumed"] is True
    assert document(cli, *inch, "--bearing", "0.6", "in")["bearing_assumed"] is False


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_in_the_help_and_answers(cli: Cli, form: str) -> None:
    _, out, _ = cli("preload", "--help")
    assert form in " ".join(out.split())
    assert document(cli, *ASKED, "--form", form)["yields"] == "no"


@pytest.mark.parametrize("condition", CONDITIONS)
def test_every_published_condition_is_in_the_help_and_answers(cli: Cli, condition: str) -> None:
    _, out, _ = cli("preload", "--help")
    assert condition in " ".join(out.split()).replace("- ", "-")
    found = document(cli, *ASKED, "--condition", condition)
    assert found["friction"] is None
    assert found["nut_factor"] is not None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("M10x1.7", "10.9", "60", "N·m"), '"M10x1.7" has no pitch of M10; expected a pitch of ISO 261'),
        (("M10", "10.8", "60", "N·m"), "did you mean 10.9?"),
        (("M10", "gr. 5", "60", "N·m"), "is a grade of inch bolts"),
        (("M30x3.5", "10.9", "600", "N·m"), "has no row here for 30 mm"),
        (("M10", "10.9", "60"), '"60" has no unit; expected a torque'),
        (("M10", "10.9", "60", "Nmm"), "did you mean"),
        (("M10", "10.9", "0", "N·m"), "tightens nothing"),
        ((*ASKED[1:], "--friction", "0.16..0.10"), "has the higher value first"),
        ((*ASKED[1:], "--nut-factor", "12"), "is no nut factor"),
        ((*ASKED[1:], "--condition", "greasy"), "expected: nonplated"),
        ((*ASKED[1:], "--form", "vdi 2231"), "did you mean vdi 2230?"),
        ((*ASKED[1:], "--form", "jis b 1083", "--bearing", "12", "mm"), "outer diameter and hole"),
        ((*ASKED[1:], "--bearing", "12", "mm", "--hole", "9", "mm"), "--head and --hole"),
        (("1/2-20", "gr. 5", "75", "lbf·ft", "--head", "19", "mm"), "both --head and --hole"),
        ((*ASKED[1:], "--prevailing", "70", "N·m"), "above the prevailing torque"),
        ((*ASKED[1:], "--prevailing", "−1", "N·m"), "is below 0"),
        ((*ASKED[1:], "--friction", "0.1", "--nut-factor", "0.2"), "not allowed with"),
        (("M10\x1b[2J", "10.9", "60", "N·m"), "expected a thread"),
    ],
)  # fmt: skip
def test_bad_words_are_refused_in_a_line_with_what_is_expected(
    cli: Cli, words: tuple[str, ...], said: str
) -> None:
    code, out, err = cli("preload", *words)
    assert (code, out) == (Exit.USAGE, "")
    first, see = err.splitlines()
    assert first.startswith("witnessmark preload: ")
    assert said in first
    assert see == "See: witnessmark preload --help"
    assert first.isprintable()

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
    by_factor = 101.686e3 / (0.2 * 12.7)
    # Machinery's Handbook (reference.md 4g, TS): ±25 % with a torque wrench of which no more is known.
    assert found["preload_newtons"]["low"] == pytest.approx(0.75 * by_factor, rel=1e-5)  # type: ignore[index]
    assert found["preload_newtons"]["high"] == pytest.approx(1.25 * by_factor, rel=1e-5)  # type: ignore[index]


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


# reference.md 4g, S14 (TS formula; D example): 60 lbf·in on 1/4 in at k 0.2 is 1200 lbf; Γ 0.35 and 0.25 by condition
@pytest.mark.parametrize(
    ("words", "low", "high"),
    [
        (("--nut-factor", "0.2"), 900, 1500),
        (("--nut-factor", "0.2..0.2"), 900, 1500),
        (("--nut-factor", "0.15..0.25"), 960, 1600),  # two limits state the spread themselves
        # αA 1.4 is ±16.7 %, 4 is ±60 % (D, of VDI 2230-1 Table A8, M)
        (("--nut-factor", "0.2", "--tightening-factor", "1.4"), 1000, 1400),
        (("--nut-factor", "0.2", "--tightening-factor", "4"), 480, 1920),
        # lubricated: K 0.18 (TS), ±25 %; nonplated: K 0.20 to 0.30 (TS), ±35 %; cadmium-plated 0.15 to 0.16, ±30 %
        (("--condition", "lubricated"), 1000, 1666.67),
        (("--condition", "nonplated"), 520, 1620),
        (("--condition", "cadmium-plated"), 1050, 2080),
    ],
)
def test_a_preload_by_a_nut_factor_scatters_as_published(
    cli: Cli, words: tuple[str, ...], low: float, high: float
) -> None:
    found = document(cli, "preload", "1/4-28", "gr. 8", "60", "lbf·in", *words)
    ends = [found["preload_newtons"][end] / 4.4482216152605 for end in ("low", "high")]  # type: ignore[index]
    assert ends == pytest.approx([low, high], rel=1e-5)


def test_the_scatter_is_said_with_its_source(cli: Cli) -> None:
    _, out, _ = cli(*ASKED, "--condition", "lubricated")
    assert "Scatter about it   ±25 %, torque, lubricated" in out
    assert "Source: NASA criteria for preloaded bolts" in out
    assert "At the proof load  86.6 N·m" in out  # 0.18 · 48.1 kN · 10 mm
    _, out, _ = cli(*ASKED, "--nut-factor", "0.18..0.22")
    assert "none added: two limits state the spread" in out


def test_what_a_tightening_factor_leaves_at_assembly(cli: Cli) -> None:
    """reference.md 4c (TS, S7): M12, friction 0.14, FM 41.9 kN, αA 1.8 gives FMmin 23.3 kN; class 8.8 by the number."""
    words = ("preload", "M12", "8.8", "60", "N·m", "--friction", "0.14", "--tightening-factor", "1.8")
    assert "Least at assembly  23.3 kN, the most over αA" in cli(*words)[1]
    found = document(cli, *words)["least_at_assembly_newtons"]
    assert found["low"] == pytest.approx(23.28e3, rel=0.005)  # type: ignore[index]


def test_an_angle_has_its_stretch_and_with_the_grip_the_preload_that_it_adds(cli: Cli) -> None:
    """reference.md section 8 (D): P 1.5, 90° is 0.375 mm; E 205 GPa. By hand for a grip of 40 mm: from 297.2 kN/mm
    twice in series, 0.619 kN a degree, to 402.5 kN/mm with rigid parts, 1.677 kN a degree."""
    _, out, _ = cli("preload", "M10", "10.9", "14", "N·m", "--angle", "90°")
    assert "0.375 mm at 90°" in out
    found = document(cli, "preload", "M10", "10.9", "14", "N·m", "--angle", "15°", "--grip", "40", "mm")[
        "angle"
    ]
    assert found["stretch_mm"] == pytest.approx(0.0625)  # type: ignore[index]
    assert found["gain_newtons"]["low"] == pytest.approx(15 * 619, rel=1e-3)  # type: ignore[index]
    assert found["gain_newtons"]["high"] == pytest.approx(15 * 1677, rel=1e-3)  # type: ignore[index]
    assert (found["passes"], found["declare_single_use"]) == ("no", False)  # type: ignore[index]


def test_an_angle_past_yield_tells_no_preload_and_asks_for_single_use(cli: Cli) -> None:
    """reference.md section 8 (D): M10x1.5 10.9, grip 40 mm, 90°: never 102 kN, which the linear model would say."""
    words = ("preload", "M10", "10.9", "40", "N·m", "--angle", "90°", "--grip", "40", "mm")
    _, out, _ = cli(*words)
    assert "Warning: 90° on M10x1.5 10.9 brings the bolt to where it yields (54.5 kN)" in out
    assert "declared single-use" in out
    assert "After the angle " not in out
    assert "E = 205 GPa of a steel bolt (assumed here)" in out
    found = document(cli, *words)["angle"]
    assert (found["gain_newtons"], found["preload_newtons"]) == (None, None)  # type: ignore[index]
    assert (found["passes"], found["declare_single_use"]) == ("yield", True)  # type: ignore[index]


def test_the_angle_that_is_surely_elastic_is_so_and_a_little_more_is_not(cli: Cli) -> None:
    words = ("preload", "M10", "10.9", "14", "N·m", "--grip", "40", "mm", "--angle")
    limit = document(cli, *words, "10°")["angle"]["surely_elastic_degrees"]  # type: ignore[index]
    for degrees, passes in ((limit * 0.999, "no"), (limit * 1.001, "proof, perhaps")):
        assert document(cli, *words, f"{degrees:.6f}°")["angle"]["passes"] == passes  # type: ignore[index]


def test_an_outer_load_is_shared_by_bolt_and_parts(cli: Cli) -> None:
    words = (*ASKED, "--friction", "0.12", "--grip", "40", "mm", "--pull", "6", "kN")
    found = document(cli, *words)
    before, service = found["preload_newtons"], found["service_newtons"]
    assert service["low"] == pytest.approx(before["low"])  # type: ignore[index]
    assert service["high"] == pytest.approx(before["high"] + 3000)  # type: ignore[index]


# reference.md section 8 (D): a linear model must flag yield and report no load there. M10 10.9, 0.12: 36.6 kN; proof
# load 48.1, yield load 54.5 kN; the bolt bears up to half of the pull while the joint is shut, all of it once open.
@pytest.mark.parametrize(
    ("pull", "ends", "said", "opens"),
    [
        ("20 kN", (36.6, 46.6), "", "no"),
        ("30 kN", (36.6, 51.6), "Warning: the pull may bring the bolt past its proof load, 48.1 kN.", "no"),
        (
            "40 kN",
            (40.0, None),
            "Warning: the pull may bring the bolt past its yield load, 54.5 kN.",
            "perhaps",
        ),
        ("100 kN", (None, None), "Warning: the pull brings the bolt past its yield load, 54.5 kN.", "yes"),
    ],
)
def test_a_pull_past_a_limit_or_that_opens_the_joint_is_warned_of(
    cli: Cli, pull: str, ends: tuple[float | None, float | None], said: str, opens: str
) -> None:
    words = (*ASKED, "--friction", "0.12", "--grip", "40", "mm", "--pull", *pull.split())
    _, out, _ = cli(*words)
    assert said in out
    assert ("the joint; from then on the bolt bears all of it" in out) == (opens != "no")
    assert ("Warning" in out) == bool(said)
    found = document(cli, *words)
    assert found["joint_opens"] == opens
    service = found["service_newtons"]
    for end, printed in zip(("low", "high"), ends, strict=True):
        kilo = None if service[end] is None else round(service[end] / 1000, 1)  # type: ignore[index]
        assert kilo == printed


def test_a_pull_after_an_angle_starts_from_what_the_angle_leaves(cli: Cli) -> None:
    words = (*ASKED, "--friction", "0.12", "--grip", "40", "mm", "--pull", "6", "kN", "--angle")
    found = document(cli, *words, "2°")
    after = found["angle"]["preload_newtons"]  # type: ignore[index]
    assert found["service_newtons"]["low"] == pytest.approx(after["low"])  # type: ignore[index]
    assert found["service_newtons"]["high"] == pytest.approx(after["high"] + 3000)  # type: ignore[index]
    assert document(cli, *words, "90°")["service_newtons"] is None
    assert "at 6 kN on the joint: not told, as no preload is told from the angle" in cli(*words, "90°")[1]


@pytest.mark.provisional
def test_the_turn_of_the_nut_is_said_with_its_tolerance_from_memory(cli: Cli) -> None:
    """reference.md section 8, RCSC (TS): 3/4 in, over 3 to 6 in, 1/2 turn; over 6 to 9 in 2/3; tolerances are M."""
    words = ("preload", "3/4-16", "gr. 5", "300", "lbf·ft", "--nut-factor", "0.2", "--turn-of-nut")
    _, out, _ = cli(*words, "5", "in")
    assert "Turn of the nut    1/2 turn from snug: 180° ± " in out
    assert "RCSC turn-of-nut tolerance (from memory, check the standard)" in out
    assert document(cli, *words, "8", "in")["turn_of_nut"]["degrees"] == 240  # type: ignore[index]
    assert document(cli, *words, "8", "in")["from_memory"] == "from memory, check the standard"
    code, _, err = cli("preload", "M10", "10.9", "60", "N·m", "--turn-of-nut", "121", "mm")
    assert code == Exit.USAGE
    assert "up to 12 d" in err


def test_past_yield_every_number_is_said_to_be_no_preload(cli: Cli) -> None:
    _, out, _ = cli("preload", "M10", "10.9", "600", "N·m")
    assert "of a bolt that never yields; this one yields at 54.5 kN, so it is no preload" in out
    assert "if the bolt stays elastic" not in out
    assert "a bolt that never yields would have 28" in out
    assert "the preload would be" not in out


def test_another_form_does_not_judge(cli: Cli) -> None:
    _, out, _ = cli("preload", "M10", "10.9", "600", "N·m", "--form", "linear")
    assert out.count("by the exact form and not by linear") == 2
    assert document(cli, *ASKED, "--form", "linear")["judged_by_form"] == "exact"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((*ASKED[1:], "--grip", "40", "mm"), "with it an --angle or a --pull"),
        ((*ASKED[1:], "--pull", "5", "kN"), "with it the --grip"),
        ((*ASKED[1:], "--angle", "5", "mm"), "is a length"),
        ((*ASKED[1:], "--angle", "5°", "--grip", "0", "mm"), "a length above 0"),
        ((*ASKED[1:], "--tightening-factor", "0.9"), "is no tightening factor"),
        ((*ASKED[1:], "--form", "vdi2"), "did you mean vdi 2230?"),
        ((*ASKED[1:], "--form", "jis"), "did you mean jis b 1083?"),
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

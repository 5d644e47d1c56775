"""verify, export and key as a user meets them: codes, words, JSON, files that are never written over."""

import json
import shutil
import stat
import sys
from pathlib import Path
from typing import Any

import pytest

from runner.cli.exits import Exit
from runner.log.keys import PRIVATE_NAME, PUBLIC_NAME, make_keys
from runner.log.line import receipt
from runner.log.scan import scan_file
from tests.cli.conftest import Cli
from tests.cli.test_commands import job, log_of, only_log
from tests.plain.test_session import START, WHOLE


@pytest.fixture
def keys(home: Path) -> tuple[str, str]:
    private, public, _ = make_keys(home / "keys")
    return str(private), str(public)


def signed_log(cli: Cli, home: Path, private: str, typed: str = WHOLE, folder: str = "signed") -> Path:
    code, out, err = cli(
        "run",
        job(home),
        "--plain",
        "--performer",
        "Ann",
        "--logs",
        folder,
        "--sign-key",
        private,
        typed=typed,
    )
    assert (code, err) == (0 if typed is WHOLE else 3, ""), out
    return only_log(home / "work" / folder)


def codes_of(log: Path) -> list[str]:
    return [receipt(each.head) for each in scan_file(log).records]


def test_a_fault_is_told_with_its_line_its_byte_why_and_how_it_begins(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    lines = log.read_bytes().splitlines(keepends=True)
    lines[4] = lines[4].replace(b'"who":"Ann"', b'"who":"\xff\x1b[2J"')
    log.write_bytes(b"".join(lines))
    byte = sum(map(len, lines[:4]))
    code, out, _ = cli("verify", str(log))
    assert code == Exit.PROBLEM
    assert f"BROKEN at line 5, byte {byte}: its bytes do not give its chain value." in out
    assert 'that line begins: {"data":' in out
    assert "\x1b" not in out
    assert out.isprintable() or all(each.isprintable() for each in out.splitlines())


def test_open_and_torn_are_no_faults_and_no_ends(cli: Cli, home: Path) -> None:
    left = log_of(cli, home, START, "b")
    torn = home / "work" / "torn.jsonl"
    torn.write_bytes(left.read_bytes()[:-20])
    for path, code, word in ((left, 3, "OPEN"), (torn, 4, "TORN TAIL")):
        got, out, _ = cli("verify", str(path))
        assert got == code
        assert word in out
        assert "COMPLETE" not in out


def test_a_receipt_code_is_looked_for_in_every_entry(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    codes = codes_of(log)
    code, out, _ = cli("verify", str(log), "--receipt", codes[-1])
    assert code == 0
    assert f"receipt code {codes[-1]} is that of entry {len(codes) - 1}\n" in out
    typed = codes[5].lower().replace("-", " ").replace("0", "o").replace("1", "l")
    code, out, _ = cli("verify", str(log), "--receipt", typed)
    assert code == 0
    assert f"is that of entry 5; {len(codes) - 6} later entries are not covered by it" in out
    cut = home / "work" / "cut.jsonl"
    cut.write_bytes(b"".join(log.read_bytes().splitlines(keepends=True)[:8]))
    assert cli("verify", str(cut))[0] == 3
    code, out, _ = cli("verify", str(cut), "--receipt", codes[8])
    assert code == Exit.PROBLEM
    assert f"RECEIPT CODE NOT FOUND: {codes[8]}" in out
    assert cli("verify", str(cut), "--receipt", codes[7])[0] == 3


def test_receipt_codes_of_several_logs(cli: Cli, home: Path) -> None:
    one, two = log_of(cli, home, WHOLE, "a"), log_of(cli, home, WHOLE, "b")
    first, second = codes_of(one)[-1], codes_of(two)[-1]
    assert first != second
    assert cli("verify", str(one), str(two), "--receipt", first, "--receipt", second)[0] == 0
    assert cli("verify", str(one), "--receipt", first, "--receipt", second)[0] == 1


@pytest.mark.parametrize(
    "code", ["", "ABCDE", "ABCDE-FGHJU", "ABCDE-FGHJKM", "ÄBCDE-FGHJK", "ABCDE-FGH\x1bK"]
)
def test_what_is_no_receipt_code_is_a_wrong_command_line(cli: Cli, home: Path, code: str) -> None:
    got, out, err = cli("verify", "gone.jsonl", "--receipt", code)
    assert (got, out) == (Exit.USAGE, "")
    assert "is no receipt code" in err
    assert "\x1b" not in err


def test_a_signed_log_with_its_key_with_another_and_without(
    cli: Cli, home: Path, keys: tuple[str, str]
) -> None:
    log = signed_log(cli, home, keys[0])
    public = cli("key", "show", keys[1])[1].split()[0]
    code, out, _ = cli("verify", str(log), "--key", keys[1])
    assert code == 0
    assert "SIGNED with this key" in out
    assert "Not promised" not in out
    code, out, _ = cli("verify", str(log))
    assert code == 0
    assert f"states that it is signed with key {public}; not checked" in out
    other = make_keys(home / "other")[1]
    code, out, _ = cli("verify", str(log), "--key", str(other))
    assert code == Exit.PROBLEM
    assert f"NOT SIGNED WITH THIS KEY, but with {public}" in out


def test_with_a_key_every_log_must_be_sealed_and_signed(cli: Cli, home: Path, keys: tuple[str, str]) -> None:
    bare = log_of(cli, home, WHOLE, "bare")
    left = signed_log(cli, home, keys[0], START, "left")
    broken = signed_log(cli, home, keys[0], WHOLE, "broken")
    broken.write_bytes(broken.read_bytes().replace(b"TR-17", b"TR-18", 1))
    for path, word in (
        (bare, "NOT SIGNED: the seal was never signed, or its signature was taken away"),
        (left, "NOT SIGNED: without a seal in order"),
        (broken, "NOT SIGNED: without a seal in order"),
    ):
        code, out, _ = cli("verify", str(path), "--key", keys[1])
        assert code == Exit.PROBLEM
        assert word in out
    shop = bare.parent / "shop.jsonl"
    code, out, _ = cli("verify", str(shop), "--key", keys[1])
    assert code == 0
    assert "a list of runs is never signed" in out


@pytest.mark.parametrize("which", ["gone", "private", "log"])
def test_what_is_no_public_key(cli: Cli, home: Path, keys: tuple[str, str], which: str) -> None:
    log = log_of(cli, home, WHOLE, "a")
    given = {"gone": "gone.pem", "private": keys[0], "log": str(log)}[which]
    code, out, err = cli("verify", str(log), "--key", given)
    assert (code, out) == (Exit.PROBLEM, "")
    assert {"gone": "cannot be read", "private": "is a private key", "log": "longer than any key"}[
        which
    ] in err


def test_json_says_the_same(cli: Cli, home: Path, keys: tuple[str, str]) -> None:
    log = signed_log(cli, home, keys[0])
    torn = home / "work" / "törn.jsonl"
    torn.write_bytes(log.read_bytes()[:-30])
    broken = home / "work" / "broken.jsonl"
    broken.write_bytes(log.read_bytes().replace(b"TR-17", b"TR-18", 1))
    last = codes_of(log)[-1]
    code, out, err = cli(
        "verify", str(log), str(torn), str(broken), "gone.jsonl", str(log.parent / "shop.jsonl"), "--json",
        "--receipt", last, "--receipt", "00000-00000", "--key", keys[1],
    )  # fmt: skip
    assert (code, err, out.isascii()) == (Exit.PROBLEM, "", True)
    told: dict[str, Any] = json.loads(out)
    assert (told["version"], told["exit"], told["receipts_not_found"]) == (1, 1, ["00000-00000"])
    whole, cut, bad, gone, shop = told["logs"]
    assert (whole["state"], whole["exit"], whole["signature"]["verdict"]) == ("complete", 0, "good")
    assert whole["receipts"] == [{"code": last, "n": whole["entries"] - 1}]
    assert whole["receipt"] == last
    assert (cut["file"], cut["state"], cut["tail"]["kind"]) == (str(torn), "torn", "fragment")
    assert cut["signature"]["verdict"] == "not sealed"
    assert (bad["state"], bad["fault"]["why"]) == ("broken", "its bytes do not give its chain value")
    assert (gone["state"], gone["exit"]) == (None, 1)
    assert (shop["state"], shop["missing"]) == ("list of runs", [])
    page = (Path(__file__).parents[2] / "logs" / "README.md").read_text(encoding="utf-8")
    assert all(f"`{name}`" in page for name in [*told, *whole, *shop])


def test_a_list_of_runs_that_is_not_there_is_an_error(cli: Cli, home: Path) -> None:
    for path in ("shop.jsonl", "no/such/folder/shop.jsonl"):
        code, out, err = cli("verify", path)
        assert code == Exit.PROBLEM
        assert err == f"{path}: No such file or directory\n"
        assert "list of runs" not in out
        code, out, err = cli("verify", path, "--json")
        assert (code, err) == (Exit.PROBLEM, "")
        (gone,) = json.loads(out)["logs"]
        assert gone == {"file": path, "state": None, "verdict": "No such file or directory", "exit": 1}


def test_a_torn_list_of_runs_is_told_as_a_torn_log_is(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    shop = log.parent / "shop.jsonl"
    whole = shop.read_bytes()
    shop.write_bytes(whole[:-40])
    size = len(whole.splitlines(keepends=True)[-1]) - 40
    code, out, _ = cli("verify", str(shop))
    assert code == Exit.TORN
    assert "list of runs, 1 run, 0 not borne out by a log beside it. TORN TAIL: it ends in" in out
    assert f"{size} bytes that a crash may have left" in out
    code, out, _ = cli("verify", str(shop), "--json")
    (told,) = json.loads(out)["logs"]
    assert (code, told["exit"], told["tail"]["size"]) == (Exit.TORN, 4, size)
    assert "TORN TAIL" in told["verdict"]
    shop.write_bytes(whole[:20])
    code, out, _ = cli("verify", str(shop))
    assert code == Exit.TORN
    assert "TORN TAIL: its first line is incomplete" in out
    shop.write_bytes(whole[:-40])
    log.unlink()
    code, out, _ = cli("verify", str(shop))
    assert code == Exit.PROBLEM
    assert "TORN TAIL" in out
    assert "MISSING: small-job" in out


def test_a_list_of_runs_needs_logs_that_are_in_order(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    shop, whole = log.parent / "shop.jsonl", log.read_bytes()
    lines = whole.splitlines(keepends=True)
    log.write_bytes(lines[0].replace(b"small", b"smell", 1) + lines[-1])
    code, out, _ = cli("verify", str(shop))
    assert code == Exit.PROBLEM
    assert f"{log.name} is broken at line 1" in out
    log.write_bytes(b"".join(lines[:4]) + lines[4].replace(b"Ann", b"Bob") + b"".join(lines[5:]))
    code, out, _ = cli("verify", str(shop), "--json")
    assert code == Exit.PROBLEM
    (missing,) = json.loads(out)["logs"][0]["missing"]
    assert missing["why"].startswith(f"{log.name} is broken at line 5")
    log.write_bytes(whole)
    (log.parent / "z-backup.jsonl").write_bytes(b"".join(lines[:4]))
    assert cli("verify", str(shop))[0] == 0


def test_a_copy_of_the_list_of_runs_is_known_as_one(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    copy = log.parent / "list-of-yesterday.jsonl"
    copy.write_bytes((log.parent / "shop.jsonl").read_bytes())
    code, out, _ = cli("verify", str(copy))
    assert (code, "list of runs, 1 run, 0 not borne out" in out) == (0, True)


def test_the_settings_can_name_the_key_and_the_list_of_settings_shows_it(
    cli: Cli, home: Path, keys: tuple[str, str]
) -> None:
    (home / "config" / "witnessmark").mkdir(parents=True)
    (home / "config" / "witnessmark" / "witnessmark.toml").write_text(f'sign_key = "{keys[0]}"\n')
    log = log_of(cli, home, WHOLE, "a")
    assert cli("verify", str(log), "--key", keys[1])[0] == 0
    assert keys[0] in cli("paths")[1]
    (home / "config" / "witnessmark" / "witnessmark.toml").write_text('sign_key = "key.pem"\n')
    code, _, err = cli("paths")
    assert code == Exit.USAGE
    assert "sign_key: a whole path (or one from ~) is expected in a settings file" in err


def test_without_the_library_a_run_is_sealed_and_says_what_to_install(
    cli: Cli, home: Path, keys: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in [each for each in sys.modules if each.split(".")[0] == "cryptography"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "cryptography", None)
    code, out, _ = cli(
        "run", job(home), "--plain", "--performer", "Ann", "--logs", "a", "--sign-key", keys[0], typed=WHOLE
    )
    assert code == 0
    assert "The seal is NOT SIGNED. Signing needs the library cryptography" in out
    log = only_log(home / "work" / "a")
    assert cli("verify", str(log))[0] == 0
    for typed in (
        ("verify", str(log), "--key", keys[1]),
        ("key", "new", "--to", "n"),
        ("key", "show", keys[1]),
    ):
        code, _, err = cli(*typed)
        assert code == Exit.PROBLEM
        assert "pip install 'witnessmark[sign]'" in err


def test_a_new_key_is_in_the_settings_folder_and_is_never_written_over(cli: Cli, home: Path) -> None:
    own = home / "config" / "witnessmark"
    code, _, err = cli("key", "show")
    assert code == Exit.PROBLEM
    assert "cannot be read" in err
    code, out, _ = cli("key", "new")
    assert code == 0
    assert stat.S_IMODE((own / PRIVATE_NAME).stat().st_mode) == 0o600
    assert f'sign_key = "{own / PRIVATE_NAME}"' in out
    letters = cli("key", "show")[1].split()[0]
    assert letters in out
    assert len(letters) == 64
    kept = (own / PRIVATE_NAME).read_bytes()
    code, out, err = cli("key", "new")
    assert (code, out) == (Exit.PROBLEM, "")
    assert "never written over" in err
    assert (own / PRIVATE_NAME).read_bytes() == kept
    assert cli("key", "new", "--to", "elsewhere")[0] == 0
    assert (home / "work" / "elsewhere" / PUBLIC_NAME).is_file()
    assert cli("key")[0] == cli("key", "old")[0] == Exit.USAGE


def test_export_prints_plain_lines_and_writes_new_files(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    code, out, err = cli("export", str(log))
    assert (code, err, out.isascii()) == (0, "", True)
    values = [json.loads(each) for each in out.splitlines()]
    assert values == [json.loads(each) for each in log.read_text(encoding="utf-8").splitlines()]
    code, nothing, err = cli("export", str(log), "--to", "e.jsonl")
    assert (code, nothing) == (0, "")
    assert "e.jsonl.scars.json: 0 scars" in err
    assert (home / "work" / "e.jsonl").read_text() == out
    assert stat.S_IMODE((home / "work" / "e.jsonl").stat().st_mode) == 0o600
    listed = json.loads((home / "work" / "e.jsonl.scars.json").read_text())
    assert (listed["log"], listed["state"], listed["scars"]) == (log.name, "complete", [])
    assert json.loads(cli("export", str(log), "--scars")[1]) == listed
    page = (Path(__file__).parents[2] / "logs" / "README.md").read_text(encoding="utf-8")
    assert all(f"`{name}`" in page for name in listed)


@pytest.mark.parametrize("taken", ["e.jsonl", "e.jsonl.scars.json"])
def test_export_never_writes_over_a_file(cli: Cli, home: Path, taken: str) -> None:
    log = log_of(cli, home, WHOLE, "a")
    (home / "work" / taken).write_text("mine")
    code, _, err = cli("export", str(log), "--to", "e.jsonl")
    assert code == Exit.PROBLEM
    assert f"{taken} is there already; nothing is written over" in err
    assert (home / "work" / taken).read_text() == "mine"
    assert (
        len([each for each in (home / "work").iterdir() if "e.jsonl" in each.name or ".new" in each.name])
        == 1
    )
    before = log.read_bytes()
    assert cli("export", str(log), "--to", str(log))[0] == Exit.PROBLEM
    assert log.read_bytes() == before
    code, _, err = cli("export", str(log), "--to", "no/such/e.jsonl")
    assert code == Exit.PROBLEM
    assert "nothing was exported" in err


def test_export_says_what_a_log_is_that_is_not_complete(cli: Cli, home: Path) -> None:
    left = log_of(cli, home, START, "a")
    code, out, err = cli("export", str(left))
    assert code == 3
    assert "OPEN" in err
    torn = home / "work" / "torn.jsonl"
    torn.write_bytes(left.read_bytes() + b'{"data"')
    code, again, err = cli("export", str(torn))
    assert (code, again) == (4, out)
    assert "TORN TAIL" in err
    assert json.loads(cli("export", str(torn), "--scars")[1])["tail"]["size"] == 7


def test_export_refuses_a_broken_log_and_exports_what_is_in_order_when_asked(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    lines = log.read_bytes().splitlines(keepends=True)
    log.write_bytes(b"".join(lines[:6]) + lines[6].replace(b"Ann", b"Bob") + b"".join(lines[7:]))
    for more in ((), ("--scars",), ("--to", "e.jsonl")):
        code, out, err = cli("export", str(log), *more)
        assert (code, out) == (Exit.PROBLEM, "")
        assert "BROKEN at line 7, byte" in err
        assert "The 6 entries before the fault: --until-fault" in err
    assert not (home / "work" / "e.jsonl").exists()
    code, out, err = cli("export", str(log), "--until-fault")
    assert code == Exit.PROBLEM
    assert len(out.splitlines()) == 6
    assert "Exported are the 6 entries before the fault" in err
    assert json.loads(cli("export", str(log), "--until-fault", "--scars")[1])["fault"]["line"] == 7


def test_export_of_what_is_no_log_and_of_the_list_of_runs(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    (home / "work" / "x.jsonl").write_text("hello\n")
    for path, words in (
        ("x.jsonl", "NOT A LOG"),
        ("gone.jsonl", "No such file"),
        (".", "not a regular file"),
    ):
        code, out, err = cli("export", path, "--until-fault")
        assert (code, out) == (Exit.PROBLEM, "")
        assert words in err
    code, out, _ = cli("export", str(log.parent / "shop.jsonl"))
    assert [json.loads(each)["kind"] for each in out.splitlines()] == ["shop", "started", "sealed"]


def test_reading_needs_neither_lock_nor_right_to_write(cli: Cli, home: Path) -> None:
    log = log_of(cli, home, WHOLE, "a")
    folder = home / "work" / "read-only"
    shutil.copytree(log.parent, folder)
    copy = folder / log.name
    copy.chmod(0o400)
    folder.chmod(0o500)
    try:
        before = copy.stat()
        assert cli("verify", str(copy))[0] == cli("export", str(copy))[0] == 0
        assert cli("export", str(copy), "--scars")[0] == 0
        after = copy.stat()
        assert (before.st_mtime_ns, before.st_size) == (after.st_mtime_ns, after.st_size)
        assert sorted(each.name for each in folder.iterdir()) == sorted(
            each.name for each in log.parent.iterdir()
        )
    finally:
        folder.chmod(0o700)

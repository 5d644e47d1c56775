"""The signature over a seal: every attack on a signed log that `logs/README.md` speaks of, and what it reads as.

The attacker here writes the file and recomputes the whole chain; only the private key is not theirs. OpenSSL,
where it is installed, checks the signed bytes as the page says them, knowing nothing of this program.
"""

import hashlib
import json
import random
import shutil
import subprocess
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from runner.log import signature
from runner.log.errors import KeyUnusable, NotRecorded
from runner.log.keys import SealKey, is_signed
from runner.log.line import encode, same_receipt
from runner.log.record import Report
from runner.log.scan import scan
from runner.log.writer import create, reopen
from tests.doubles import FaultyFiles, SetOutside
from tests.log.makelog import HEADER, fill
from tests.log.test_keys import PUBLIC_FORM, pem, private_file

Values = list[dict[str, Any]]
SHOP, THIEF = b"s" * 32, b"t" * 32
"""Seeds of two invented keys."""


def public_of(seed: bytes) -> bytes:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    return Ed25519PrivateKey.from_private_bytes(seed).public_key().public_bytes_raw()


PUBLIC = public_of(SHOP)


def key_of(folder: Path, seed: bytes = SHOP) -> SealKey:
    return SealKey(private_file(folder, seed, f"{seed[:1].decode()}.pem"))


def signed_log(folder: Path, *, count: int = 6, runs_before: int = 0, seed: bytes | None = SHOP) -> bytes:
    outside = SetOutside()
    outside.drawn = runs_before
    with create(folder, f"{runs_before}-{count}.jsonl", HEADER, outside) as log:
        fill(log, outside, count)
        log.seal({"end": "finished, Räder"}, outside.now(), key_of(folder, seed).sign if seed else None)
        assert log.not_signed == ""
    return log.path.read_bytes()


def values_of(data: bytes) -> Values:
    values = [json.loads(line) for line in data.splitlines()]
    for value in values:
        del value["~"]
    return values


def chained(values: Values, spacing: tuple[str, str] = (",", ":")) -> bytes:
    """The chain made anew, with the seal's own head and count right: what an attacker's program does."""
    head, lines = hashlib.sha256(b"witnessmark-log/1\n").digest(), []
    for n, value in enumerate(values):
        value["n"] = n
        if value["kind"] == "seal":
            value["data"] |= {"head": head.hex(), "count": n}
        last = spacing if n == len(values) - 1 else (",", ":")
        body = json.dumps(value, sort_keys=True, separators=last, ensure_ascii=False).encode()
        head = hashlib.sha256(head + body).digest()
        lines.append(body[:-1] + b',"~":"' + head.hex().encode() + b'"}\n')
    return b"".join(lines)


def told(data: bytes, public: bytes = PUBLIC) -> tuple[str, str]:
    """The verdict on the chain and the one on the signature."""
    report = scan(data)
    last = report.records[-1] if report.records else None
    return report.state, signature.judge(report, last, public, is_signed).kind


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return signed_log(tmp_path_factory.mktemp("logs"))


def test_a_signed_log_is_good_for_its_key_and_for_no_other(log: bytes) -> None:
    assert told(log) == ("complete", "good")
    assert told(log, public_of(THIEF)) == ("complete", "other key")
    assert chained(values_of(log)) == log
    seal = scan(log).records[-1]
    assert seal.data["end"] == "finished, Räder"
    assert signature.stated_key(seal) == PUBLIC.hex()
    assert json.loads(log.splitlines()[-1])["data"]["count"] == 7


@pytest.mark.skipif(shutil.which("openssl") is None, reason="not run here: openssl is not installed")
def test_openssl_agrees_with_the_page(tmp_path: Path, log: bytes) -> None:
    """Built from the words of logs/README.md alone."""
    *_, before, last = log.splitlines()
    seal = json.loads(last)
    del seal["~"]
    stated = seal["data"].pop("signature")
    body = json.dumps(seal, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    head = hashlib.sha256(bytes.fromhex(json.loads(before)["~"]) + body).hexdigest()
    assert head == stated["head"]
    run = json.loads(log.splitlines()[0])["data"]["run"]
    words = f"witnessmark-seal-signature/1\nrun {run}\ncount {seal['n']}\nhead {head}\n"
    for name, content in (
        ("statement", words.encode()),
        ("signature", bytes.fromhex(stated["ed25519"])),
        ("key", pem("PUBLIC KEY", PUBLIC_FORM + PUBLIC)),
        ("changed", words.replace("count 7", "count 8").encode()),
    ):
        (tmp_path / name).write_bytes(content)
    for name, code in (("statement", 0), ("changed", 1)):
        done = subprocess.run(
            ["openssl", "pkeyutl", "-verify", "-rawin", "-pubin", "-inkey", "key", "-sigfile", "signature",
             "-in", name], cwd=tmp_path, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == code, done


def stripped(values: Values, _: Values, __: Values) -> None:
    del values[-1]["data"]["signature"]


def of_another_run(values: Values, other: Values, _: Values) -> None:
    values[-1]["data"]["signature"] = other[-1]["data"]["signature"]


def of_an_older_seal(values: Values, _: Values, shorter: Values) -> None:
    values[-1]["data"]["signature"] = shorter[-1]["data"]["signature"]


def value_changed(values: Values, _: Values, __: Values) -> None:
    values[3]["data"]["raw"] = "99 N·m"


def seal_changed(values: Values, _: Values, __: Values) -> None:
    values[-1]["data"]["end"] = "finished with open points"


def seal_added_to(values: Values, _: Values, __: Values) -> None:
    values[-1]["data"]["more"] = 1


def seal_with_a_number_that_no_log_holds(values: Values, _: Values, __: Values) -> None:
    values[-1]["data"]["extra"] = 2**60


def time_of_the_seal(values: Values, _: Values, __: Values) -> None:
    values[-1]["utc"] = values[-1]["utc"].replace("2026", "2025")


def header_changed(values: Values, _: Values, __: Values) -> None:
    values[0]["data"]["procedure"]["title"] = "Another"


def run_renamed(values: Values, other: Values, _: Values) -> None:
    values[0]["data"]["run"] = other[0]["data"]["run"]


def entry_removed(values: Values, _: Values, __: Values) -> None:
    del values[3]


def entry_added(values: Values, _: Values, __: Values) -> None:
    values.insert(3, dict(values[3]))


def entries_swapped(values: Values, _: Values, __: Values) -> None:
    values[2], values[3] = values[3], values[2]


def cut_and_sealed_again(values: Values, _: Values, __: Values) -> None:
    del values[4:-1]


def cut_and_sealed_without(values: Values, _: Values, __: Values) -> None:
    del values[4:-1]
    del values[-1]["data"]["signature"]


def cut_open(values: Values, _: Values, __: Values) -> None:
    del values[4:]


def seal_taken_off(values: Values, _: Values, __: Values) -> None:
    del values[-1]


def another_key_named(values: Values, _: Values, __: Values) -> None:
    values[-1]["data"]["signature"]["key"] = public_of(THIEF).hex()


def count_and_head_made_to_fit(values: Values, _: Values, __: Values) -> None:
    """The attacker restates what was signed; the bytes of the signature stay."""
    del values[4:-1]
    values[-1]["data"]["signature"]["count"] = 4


def bit_of_the_signature(values: Values, _: Values, __: Values) -> None:
    raw = values[-1]["data"]["signature"]["ed25519"]
    values[-1]["data"]["signature"]["ed25519"] = f"{int(raw, 16) ^ 1:0128x}"


def capital_letters(values: Values, _: Values, __: Values) -> None:
    made = values[-1]["data"]["signature"]
    made["ed25519"] = made["ed25519"].upper()


def with_a_word_more(values: Values, _: Values, __: Values) -> None:
    values[-1]["data"]["signature"]["note"] = "trust me"


def count_as_truth(values: Values, _: Values, __: Values) -> None:
    values[-1]["data"]["signature"]["count"] = True


def moved_to_an_entry(values: Values, _: Values, __: Values) -> None:
    values[3]["data"]["signature"] = values[-1]["data"].pop("signature")


def run_not_plain(values: Values, _: Values, __: Values) -> None:
    values[-1]["data"]["signature"]["run"] = "0" * 31 + "\n"


ATTACKS: dict[Callable[[Values, Values, Values], None], tuple[str, str]] = {
    stripped: ("complete", "absent"),
    of_another_run: ("complete", "other run"),
    of_an_older_seal: ("complete", "other seal"),
    value_changed: ("complete", "changed"),
    seal_changed: ("complete", "changed"),
    seal_added_to: ("complete", "changed"),
    seal_with_a_number_that_no_log_holds: ("complete", "changed"),
    time_of_the_seal: ("complete", "changed"),
    header_changed: ("complete", "changed"),
    run_renamed: ("complete", "other run"),
    entry_removed: ("complete", "other seal"),
    entry_added: ("complete", "other seal"),
    entries_swapped: ("complete", "changed"),
    cut_and_sealed_again: ("complete", "other seal"),
    cut_and_sealed_without: ("complete", "absent"),
    cut_open: ("open", "not sealed"),
    seal_taken_off: ("open", "not sealed"),
    another_key_named: ("complete", "other key"),
    count_and_head_made_to_fit: ("complete", "forged"),
    bit_of_the_signature: ("complete", "forged"),
    capital_letters: ("complete", "malformed"),
    with_a_word_more: ("complete", "malformed"),
    count_as_truth: ("complete", "malformed"),
    moved_to_an_entry: ("complete", "absent"),
    run_not_plain: ("complete", "malformed"),
}


@pytest.mark.parametrize("attack", ATTACKS, ids=lambda attack: attack.__name__)
def test_each_attack_with_the_chain_made_anew_is_named(
    tmp_path: Path, log: bytes, attack: Callable[[Values, Values, Values], None]
) -> None:
    """The chain alone says COMPLETE to nearly all of these, as the page says; the key tells, and a receipt code."""
    receipt = scan(log).head
    values = values_of(log)
    shorter = values_of(signed_log(tmp_path, count=3))
    assert shorter[0]["data"]["run"] == values[0]["data"]["run"]
    attack(values, values_of(signed_log(tmp_path, runs_before=4)), shorter)
    attacked = chained(values)
    assert told(attacked) == ATTACKS[attack]
    if attack is not seal_taken_off and attack is not cut_open:
        assert scan(attacked).head != receipt


def test_a_thief_with_a_key_of_their_own_is_told_from_the_shop(tmp_path: Path) -> None:
    data = signed_log(tmp_path, seed=THIEF)
    assert told(data) == ("complete", "other key")
    named = values_of(data)
    named[-1]["data"]["signature"]["key"] = PUBLIC.hex()
    assert told(chained(named)) == ("complete", "forged")


def test_the_seal_in_another_form_of_the_same_values_is_not_the_one_that_was_signed(log: bytes) -> None:
    assert told(chained(values_of(log), (", ", ": "))) == ("complete", "changed")


def test_a_log_that_is_no_whole_one_is_never_signed(log: bytes) -> None:
    """Cut at every byte: never good, for the seal is not there."""
    for size in range(len(log)):
        state, kind = told(log[:size])
        assert (state == "complete", kind) == (False, "not sealed")
    assert told(log + b"x")[1] == told(log[:200] + b"x" + log[201:])[1] == "not sealed"


def test_an_unsigned_seal_is_complete_and_absent(tmp_path: Path) -> None:
    assert told(signed_log(tmp_path, seed=None)) == ("complete", "absent")


def flips(log: bytes, bits: list[int]) -> Counter[tuple[str, str]]:
    """Bits of the last two lines flipped, one at a time, and the chain made anew where they still are JSON."""
    seen: Counter[tuple[str, str]] = Counter()
    start = len(log) - len(b"".join(log.splitlines(keepends=True)[-2:]))
    for bit in bits:
        raw = bytearray(log)
        raw[start + bit // 8] ^= 1 << bit % 8
        try:
            values = values_of(bytes(raw))
            again = chained(values)
        except (ValueError, KeyError, TypeError):
            seen["no log", "-"] += 1
            continue
        if again == log:
            seen["the same", "-"] += (
                1  # a bit of a chain value, or of what the seal says of it: made right again
            )
            continue
        verdict = told(again)
        assert verdict[1] != "good", (bit, again)
        seen[verdict] += 1
    return seen


def test_some_flipped_bits_with_the_chain_made_anew_are_never_good(log: bytes) -> None:
    bits = 8 * len(b"".join(log.splitlines(keepends=True)[-2:]))
    seen = flips(log, random.Random(5).sample(range(bits), 400))
    assert sum(seen.values()) == 400
    assert seen["complete", "changed"] + seen["complete", "forged"] >= 50


@pytest.mark.deep
def test_every_flipped_bit_with_the_chain_made_anew_is_never_good(log: bytes) -> None:
    bits = 8 * len(b"".join(log.splitlines(keepends=True)[-2:]))
    seen = flips(log, list(range(bits)))
    print(f"\nsignature: {sum(seen.values())} flipped bits, rechained: {dict(seen)}")
    assert sum(seen.values()) == bits >= 5_000
    assert seen["complete", "changed"] + seen["complete", "forged"] >= 1_000


TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | TEXT,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text("abcdef_", min_size=1, max_size=4), inner, max_size=3)
    ),
    max_leaves=8,
)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.dictionaries(st.text("abxyz", min_size=1, max_size=6), JSON, max_size=4), JSON)
def test_any_seal_that_can_be_written_can_be_signed_and_any_change_of_it_is_found(
    tmp_path_factory: pytest.TempPathFactory, data: dict[str, Any], more: Any
) -> None:
    folder, outside = tmp_path_factory.mktemp("any"), SetOutside()
    with create(folder, "a.jsonl", HEADER, outside) as log:
        log.seal(data, outside.now(), key_of(folder).sign)
    raw = log.path.read_bytes()
    assert told(raw) == ("complete", "good")
    values = values_of(raw)
    values[-1]["data"]["x"] = more
    expected = "good" if "x" in data and encode(data["x"]) == encode(more) else "changed"
    assert told(chained(values)) == ("complete", expected)


@settings(deadline=None)
@given(JSON)
def test_whatever_stands_in_place_of_a_signature_is_no_signature(log: bytes, other: Any) -> None:
    values = values_of(log)
    values[-1]["data"]["signature"] = other
    assert told(chained(values)) == ("complete", "malformed")


def unusable(_: bytes) -> tuple[bytes, bytes]:
    raise KeyUnusable("The key shop.pem cannot be read: No such file or directory.")


def test_a_key_that_cannot_be_used_loses_no_seal(tmp_path: Path) -> None:
    outside = SetOutside()
    with create(tmp_path, "a.jsonl", HEADER, outside) as log:
        log.seal({"end": "finished"}, outside.now(), unusable)
        assert log.not_signed.startswith("The key shop.pem cannot be read")
    assert told(log.path.read_bytes()) == ("complete", "absent")


def test_a_seal_that_was_refused_by_a_full_disk_is_signed_anew(tmp_path: Path) -> None:
    """The scar may hold the first signature; in the seal's place it is that of another seal."""
    files = FaultyFiles("write", 3, short=900)
    outside = SetOutside(files=files)
    with create(tmp_path, "a.jsonl", HEADER, outside) as log:
        fill(log, outside, 1)
        with pytest.raises(NotRecorded):
            log.seal({"end": "finished", "z": "z" * 900}, outside.now(), key_of(tmp_path).sign)
        files.mend()
        log.seal({"end": "finished", "z": "z" * 900}, outside.now(), key_of(tmp_path).sign)
    raw = log.path.read_bytes()
    report: Report = scan(raw)
    assert (report.state, len(report.scars), told(raw)[1]) == ("complete", 1, "good")
    scar = report.scars[0]
    first = json.loads(raw[scar.byte : scar.byte + scar.size].split(b'"signature":')[1].split(b"}")[0] + b"}")
    assert first["run"] == report.records[-1].data["signature"]["run"]
    rest = report.records[-1]
    body = {**json.loads(raw.splitlines()[-1]), "data": {**rest.data, "signature": first}}
    del body["~"]
    canonical = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    before = bytes.fromhex(rest.data["head"])
    line = canonical[:-1] + b',"~":"' + hashlib.sha256(before + canonical).hexdigest().encode() + b'"}\n'
    assert told(raw[: raw.rindex(b"\n", 0, -1) + 1] + line) == ("complete", "other seal")


def test_a_run_that_was_taken_up_again_is_signed_as_one(tmp_path: Path) -> None:
    outside = SetOutside()
    with create(tmp_path, "a.jsonl", HEADER, outside) as log:
        fill(log, outside, 2)
    log, _ = reopen(log.path, outside)
    with log:
        outside.set_wall(3_600_000)
        sealed = log.seal({}, outside.now(), key_of(tmp_path).sign)
    raw = log.path.read_bytes()
    assert told(raw) == ("complete", "good")
    assert [each.kind for each in scan(raw).records[-2:]] == ["clock", "seal"]
    assert same_receipt(sealed.receipt, scan(raw).head)


@pytest.mark.parametrize("name", ["count", "head", "signature"])
def test_the_keys_of_the_seal_that_the_log_fills_are_its_own(tmp_path: Path, name: str) -> None:
    outside = SetOutside()
    with create(tmp_path, "a.jsonl", HEADER, outside) as log, pytest.raises(ValueError, match=name):
        log.seal({name: "mine"}, outside.now())


def test_a_run_without_a_plain_identity_is_sealed_unsigned(tmp_path: Path) -> None:
    outside = SetOutside()
    with create(tmp_path, "a.jsonl", HEADER, outside, run="r-1") as log:
        log.seal({}, outside.now(), key_of(tmp_path).sign)
        assert "identity" in log.not_signed
    assert told(log.path.read_bytes()) == ("complete", "absent")

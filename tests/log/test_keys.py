"""The shop's key: published answers, key files good and bad, and what is said where the library is missing.

Known answers: RFC 8032, section 7.1, TEST 1 to 3 and SHA(abc); key files: RFC 8410, section 10.
"""

import base64
import hashlib
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from runner.log import keys
from runner.log.errors import KeyUnusable
from runner.log.keys import PRIVATE_NAME, PUBLIC_NAME, SealKey, is_signed, make_keys, public_key

VECTORS = {
    "TEST 1": (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        b"",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    "TEST 2": (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        b"\x72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    "TEST 3": (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        b"\xaf\x82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    "SHA(abc)": (
        "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        hashlib.sha512(b"abc").digest(),
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b589"
        "09351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
}
ORDER = 2**252 + 27742317777372353535851937790883648493
"""Of the group, RFC 8032, section 5.1."""
SEED_FORM = bytes.fromhex("302e020100300506032b657004220420")
PUBLIC_FORM = bytes.fromhex("302a300506032b6570032100")
"""What stands before the 32 bytes in PKCS 8 and in SubjectPublicKeyInfo (RFC 8410, sections 4 and 7)."""


def pem(what: str, raw: bytes) -> bytes:
    lines = base64.b64encode(raw).decode()
    return f"-----BEGIN {what}-----\n{lines}\n-----END {what}-----\n".encode()


def private_file(folder: Path, seed: bytes, name: str = "key.pem") -> Path:
    path = folder / name
    path.write_bytes(pem("PRIVATE KEY", SEED_FORM + seed))
    path.chmod(0o600)
    return path


def public_file(folder: Path, raw: bytes, name: str = "key.pub.pem") -> Path:
    path = folder / name
    path.write_bytes(pem("PUBLIC KEY", PUBLIC_FORM + raw))
    return path


@pytest.mark.parametrize("name", VECTORS)
def test_the_published_vectors_from_key_files(tmp_path: Path, name: str) -> None:
    seed, public, message, signature = VECTORS[name]
    made = SealKey(private_file(tmp_path, bytes.fromhex(seed))).sign(message)
    assert (made[0].hex(), made[1].hex()) == (public, signature)
    read = public_key(public_file(tmp_path, bytes.fromhex(public)))
    assert is_signed(made[1], message, read)
    assert not is_signed(made[1], message + b"x", read)


def test_the_key_files_of_rfc_8410(tmp_path: Path) -> None:
    text = b"MC4CAQAwBQYDK2VwBCIEINTuctv5E1hK1bbY8fdp+K06/nwoy/HU++CXqI9EdVhC"
    private = tmp_path / "a.pem"
    private.write_bytes(pem("PRIVATE KEY", base64.b64decode(text)))
    private.chmod(0o600)
    public = tmp_path / "a.pub.pem"
    other = b"MCowBQYDK2VwAyEAGb9ECWmEzf6FQbrBZ9w7lshQhqowtrbLDFw4rXAxZuE="
    public.write_bytes(pem("PUBLIC KEY", base64.b64decode(other)))
    assert SealKey(private).sign(b"")[0] == public_key(public)


@pytest.mark.parametrize("name", VECTORS)
def test_every_flipped_bit_of_a_signature_is_refused(name: str) -> None:
    _, public, message, signature = VECTORS[name]
    raw, key = bytearray(bytes.fromhex(signature)), bytes.fromhex(public)
    for bit in range(8 * len(raw)):
        raw[bit // 8] ^= 1 << bit % 8
        assert not is_signed(bytes(raw), message, key)
        raw[bit // 8] ^= 1 << bit % 8
    assert is_signed(bytes(raw), message, key)


def test_a_second_form_of_the_same_signature_is_refused() -> None:
    """RFC 8032, section 5.1.7: the second half is below the group's order, or the signature is none."""
    _, public, message, signature = VECTORS["TEST 3"]
    raw = bytes.fromhex(signature)
    more = (int.from_bytes(raw[32:], "little") + ORDER).to_bytes(32, "little")
    assert not is_signed(raw[:32] + more, message, bytes.fromhex(public))


@given(st.binary(max_size=80), st.binary(max_size=40), st.binary(max_size=70))
def test_no_bytes_at_all_are_a_signature(message: bytes, public: bytes, signature: bytes) -> None:
    key = bytes.fromhex(VECTORS["TEST 1"][1])
    assert not is_signed(signature, message, key)
    assert not is_signed(bytes.fromhex(VECTORS["TEST 1"][3]), b"", public)


def test_made_keys_are_a_pair_and_the_private_one_is_the_owners_alone(tmp_path: Path) -> None:
    private, public, raw = make_keys(tmp_path / "new" / "folder")
    assert (private.name, public.name) == (PRIVATE_NAME, PUBLIC_NAME)
    assert stat.S_IMODE(private.stat().st_mode) == 0o600
    assert b"PUBLIC KEY" in public.read_bytes()
    assert public_key(public) == raw
    by, signature = SealKey(private).sign(b"x")
    assert by == raw
    assert is_signed(signature, b"x", raw)
    assert sorted(each.name for each in private.parent.iterdir()) == [PRIVATE_NAME, PUBLIC_NAME]
    assert make_keys(tmp_path / "other")[2] != raw


@pytest.mark.parametrize("name", [PRIVATE_NAME, PUBLIC_NAME])
@pytest.mark.parametrize("link", [False, True])
def test_a_key_is_never_written_over(tmp_path: Path, name: str, link: bool) -> None:
    if link:
        (tmp_path / name).symlink_to(tmp_path / "nowhere")
    else:
        (tmp_path / name).write_text("mine")
    with pytest.raises(KeyUnusable, match=f"{name} is there already; a key is never written over"):
        make_keys(tmp_path)
    assert [each.name for each in tmp_path.iterdir()] == [name]
    assert link or (tmp_path / name).read_text() == "mine"


BAD = {
    "empty": (b"", "no private Ed25519 key"),
    "text": (b"hello\n", "no private Ed25519 key"),
    "long": (b"x" * 5_000, "longer than any key"),
    "short": (pem("PRIVATE KEY", SEED_FORM + b"1" * 31), "no private Ed25519 key"),
    "public": (
        pem("PUBLIC KEY", PUBLIC_FORM + bytes.fromhex(VECTORS["TEST 1"][1])),
        "no private Ed25519 key",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_private_key(tmp_path: Path, name: str) -> None:
    path = tmp_path / "bad.pem"
    path.write_bytes(BAD[name][0])
    path.chmod(0o600)
    with pytest.raises(KeyUnusable, match=BAD[name][1]):
        SealKey(path).sign(b"")
    assert BAD[name][1] in SealKey(path).problem()
    with pytest.raises(KeyUnusable):
        public_key(path) if name != "public" else SealKey(path).sign(b"")


def test_keys_of_another_kind_and_with_a_password_are_refused(tmp_path: Path) -> None:
    from cryptography.hazmat.primitives import serialization as forms
    from cryptography.hazmat.primitives.asymmetric import ec, ed25519

    pem_form, pkcs8 = forms.Encoding.PEM, forms.PrivateFormat.PKCS8
    other = ec.generate_private_key(ec.SECP256R1())
    locked = ed25519.Ed25519PrivateKey.generate()
    for key, how in ((other, forms.NoEncryption()), (locked, forms.BestAvailableEncryption(b"secret"))):
        path = tmp_path / "other.pem"
        path.write_bytes(key.private_bytes(pem_form, pkcs8, how))
        path.chmod(0o600)
        with pytest.raises(KeyUnusable, match="no private Ed25519 key in PEM without a password"):
            SealKey(path).sign(b"")
    public = tmp_path / "other.pub.pem"
    public.write_bytes(other.public_key().public_bytes(pem_form, forms.PublicFormat.SubjectPublicKeyInfo))
    with pytest.raises(KeyUnusable, match="no public Ed25519 key"):
        public_key(public)


def test_where_no_key_can_be_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "fifo")
    for name, words in (
        ("gone", "No such file"),
        ("fifo", "not a regular file"),
        (".", "not a regular file"),
    ):
        assert words in SealKey(tmp_path / name).problem()
        with pytest.raises(KeyUnusable, match=words):
            public_key(tmp_path / name)


def test_a_private_key_is_not_taken_for_a_public_one_nor_one_open_to_everybody(tmp_path: Path) -> None:
    path = private_file(tmp_path, b"1" * 32)
    with pytest.raises(KeyUnusable, match=f"is a private key; name the public one, {PUBLIC_NAME}"):
        public_key(path)
    for mode in (0o604, 0o602, 0o601):
        path.chmod(mode)
        assert "open to everybody" in SealKey(path).problem()
    path.chmod(0o640)
    assert SealKey(path).problem() == ""


def test_without_the_library_every_use_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    private = private_file(tmp_path, b"1" * 32)
    public = public_file(tmp_path, bytes.fromhex(VECTORS["TEST 1"][1]))
    for name in [each for each in sys.modules if each.split(".")[0] == "cryptography"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "cryptography", None)
    for use in (
        lambda: SealKey(private).sign(b""),
        lambda: public_key(public),
        lambda: is_signed(b"", b"", b""),
        lambda: make_keys(tmp_path / "new"),
    ):
        with pytest.raises(KeyUnusable, match=r"pip install 'witnessmark\[sign\]'"):
            use()
    assert SealKey(private).problem() == keys.INSTALL
    assert not (tmp_path / "new").exists()


def test_the_library_is_loaded_only_where_a_key_is_used() -> None:
    code = (
        "import sys, runner.run, runner.cli.verifying, runner.cli.exporting, runner.cli.signing, runner.cli.parser\n"
        "runner.cli.parser.build_parser().format_help()\n"
        "print([name for name in sys.modules if name.startswith(('cryptography', '_cffi'))])"
    )
    root = Path(__file__).parents[2]
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root)
    assert told.stdout == "[]\n"

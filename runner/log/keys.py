"""The shop's key: making it, reading it, signing with it and checking what it signed. Ed25519, RFC 8032.

The library `cryptography` (the extra `sign`) is loaded when a key is really used, and only then. A private key
is a PEM file of PKCS 8 without a password, its owner's alone; a public key is a PEM file (RFC 8410). A public
key is 32 bytes, so it is its own fingerprint: 64 hexadecimal letters.
"""

from __future__ import annotations

import importlib
import stat
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from runner.log.errors import KeyUnusable, LogError
from runner.log.new_files import NewFile, write_new
from runner.log.source import reading
from runner.outside import Files

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

PRIVATE_NAME: Final = "seal-key.pem"
PUBLIC_NAME: Final = "seal-key.pub.pem"
INSTALL: Final = (
    "Signing needs the library cryptography, which is not installed: pip install 'witnessmark[sign]'."
)
_LARGEST = 4_096
"""Bytes; a key file has some 120."""


class SealKey:
    """The private key in a file. Nothing of it is read before it is used, and nothing of it is kept."""

    def __init__(self, path: Path, files: Files | None = None) -> None:
        self.path = path
        self._files = files or Files()

    def sign(self, message: bytes) -> tuple[bytes, bytes]:
        """The public key (32 bytes) and its signature of the message (64 bytes). Raises KeyUnusable."""
        key = self._read()
        return key.public_key().public_bytes_raw(), key.sign(message)

    def problem(self) -> str:
        """Why nothing can be signed with it now, in a sentence; empty where it can."""
        try:
            self._read()
        except KeyUnusable as error:
            return str(error)
        return ""

    def _read(self) -> Ed25519PrivateKey:
        raw = _content(self.path, self._files, private=True)
        wrong = f"{self.path.name} is no private Ed25519 key in PEM without a password."
        key: Ed25519PrivateKey = _loaded(
            "load_pem_private_key", raw, "Ed25519PrivateKey", wrong, password=None
        )
        return key


def public_key(path: Path, files: Files | None = None) -> bytes:
    """The public key (32 bytes) in a file. Raises KeyUnusable, for a private key as well: it is not passed on."""
    raw = _content(path, files or Files(), private=False)
    if b"PRIVATE KEY" in raw:
        raise KeyUnusable(f"{path.name} is a private key; name the public one, {PUBLIC_NAME} beside it.")
    wrong = f"{path.name} is no public Ed25519 key in PEM."
    key: Ed25519PublicKey = _loaded("load_pem_public_key", raw, "Ed25519PublicKey", wrong)
    return key.public_bytes_raw()


def is_signed(signature: bytes, message: bytes, public: bytes) -> bool:
    """Whether `signature` (64 bytes) is that of `message` by the key `public` (32 bytes). Raises KeyUnusable."""
    ed25519 = _library("cryptography.hazmat.primitives.asymmetric.ed25519")
    bad = _library("cryptography.exceptions").InvalidSignature
    try:
        ed25519.Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
    except (bad, ValueError):  # ValueError: 32 bytes that are no key
        return False
    return True


def make_keys(folder: Path) -> tuple[Path, Path, bytes]:
    """Make a new pair of keys in `folder`: the files of both, and the public key (32 bytes).

    Raises KeyUnusable where the library is missing or a key is there already: a key is never written over.
    """
    key = _library("cryptography.hazmat.primitives.asymmetric.ed25519").Ed25519PrivateKey.generate()
    forms = _library("cryptography.hazmat.primitives.serialization")
    pem = forms.Encoding.PEM
    private = key.private_bytes(pem, forms.PrivateFormat.PKCS8, forms.NoEncryption())
    public = key.public_key().public_bytes(pem, forms.PublicFormat.SubjectPublicKeyInfo)
    paths = folder / PRIVATE_NAME, folder / PUBLIC_NAME
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_new(NewFile(paths[0], (private,)), NewFile(paths[1], (public,), mode=0o644))
    except FileExistsError as error:
        name = Path(str(error.filename)).name
        raise KeyUnusable(
            f"{name} is there already; a key is never written over. Choose another folder."
        ) from error
    except OSError as error:
        raise KeyUnusable(f"The key cannot be written: {error.strerror}.") from error
    return *paths, key.public_key().public_bytes_raw()


def _content(path: Path, files: Files, *, private: bool) -> bytes:
    """The bytes of a key file. Raises KeyUnusable."""
    try:
        found = files.stat(path, follow=True)
        with reading(path, files) as source:
            raw = source.read(_LARGEST + 1)
    except OSError as error:
        raise KeyUnusable(f"The key {path.name} cannot be read: {error.strerror}.") from error
    except LogError as error:
        raise KeyUnusable(f"The key {error}") from error
    if len(raw) > _LARGEST:
        raise KeyUnusable(f"{path.name} is longer than any key.")
    if private and sys.platform != "win32" and found.st_mode & stat.S_IRWXO:
        raise KeyUnusable(
            f"{path.name} is open to everybody on this machine; make it its owner's alone (0600)."
        )
    return raw


def _loaded(how: str, raw: bytes, kind: str, wrong: str, **more: Any) -> Any:
    """The key in PEM text, of the kind wanted. Raises KeyUnusable with `wrong` for anything else."""
    load = getattr(_library("cryptography.hazmat.primitives.serialization"), how)
    wanted = getattr(_library("cryptography.hazmat.primitives.asymmetric.ed25519"), kind)
    unknown = _library("cryptography.exceptions").UnsupportedAlgorithm
    try:
        key = load(raw, **more)
    except (ValueError, TypeError, unknown) as error:  # TypeError: a password would be needed
        raise KeyUnusable(wrong) from error
    if not isinstance(key, wanted):
        raise KeyUnusable(wrong)
    return key


def _library(name: str) -> Any:
    try:
        return importlib.import_module(name)
    except ImportError as error:
        raise KeyUnusable(INSTALL) from error

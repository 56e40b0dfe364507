"""Checkpoints as text, against the examples of the open forms."""

from __future__ import annotations

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from gradewright.core.checkpoint import (
    Checkpoint,
    CheckpointError,
    Key,
    check_name,
    opened,
    private_text,
    read_key,
    read_private,
    signed,
    unsigned,
)

# The example of the specification tlog-checkpoint (C2SP). Its key is not published: only its form is read.
_SIGNED = "Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8="
EXAMPLE = f"""example.com/behind-the-sofa
20852163
CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=

— example.com/behind-the-sofa {_SIGNED}
"""
# The example of the Go package golang.org/x/mod/sumdb/note, whose form of notes and keys signed-note took on.
PUBLIC = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW"
PRIVATE = "PRIVATE+KEY+PeterNeumann+c74f20a3+AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz"
TEXT = "If you think cryptography is the answer to your problem,\nthen you don't know what your problem is.\n"
SIGNATURE = "x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXgKvqfqdngotpRZb6KE6RyyBwJnAM="

SECRET = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
KEY = Key("ledger.example.org", SECRET.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw))
MADE = Checkpoint("ledger.example.org", 1234, bytes(range(32)))


def _verifies(key: Key, signature: bytes, text: bytes) -> bool:
    try:
        Ed25519PublicKey.from_public_bytes(key.public).verify(signature, text)
    except InvalidSignature:
        return False
    return True


def _open(note: str, key: Key = KEY) -> Checkpoint:
    return opened(note, key, lambda signature, text: _verifies(key, signature, text))


def test_the_published_checkpoint_is_read() -> None:
    """The example of the specification has its origin, size and root."""
    found = unsigned(EXAMPLE)
    assert (found.origin, found.size) == ("example.com/behind-the-sofa", 20852163)
    assert found.root.hex() == "0ac5186a91863e8e1d90c808014aa89bf5da8e3ee1d9f07630f0378f68f1ab62"
    assert EXAMPLE.startswith(found.text + "\n")


def test_the_published_keys_are_read_and_written() -> None:
    """The example's public and private key have their id, come out as they went in, and belong together."""
    key = read_key(PUBLIC)
    name, stated, seed = read_private(PRIVATE)
    assert (key.name, key.id.hex(), key.text) == ("PeterNeumann", "c74f20a3", PUBLIC)
    assert (name, stated) == ("PeterNeumann", "c74f20a3")
    assert private_text(key, seed) == PRIVATE
    secret = Ed25519PrivateKey.from_private_bytes(seed)
    assert secret.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw) == key.public


def test_the_published_signature_is_made() -> None:
    """Signing the example's text with its key gives the example's signature, byte for byte."""

    class Note(Checkpoint):
        text = TEXT

    _, _, seed = read_private(PRIVATE)
    note = signed(Note("", 0, b""), read_key(PUBLIC), Ed25519PrivateKey.from_private_bytes(seed).sign)
    assert note == f"{TEXT}\n— PeterNeumann {SIGNATURE}\n"


def test_a_signed_checkpoint_opens() -> None:
    """What was signed comes out again, also where others have signed beside."""
    note = signed(MADE, KEY, SECRET.sign)
    assert _open(note) == MADE
    assert _open(f"{note}— PeterNeumann {SIGNATURE}\n") == MADE


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("1234", "1235", "does not hold"),
        ("AAEC", "AAED", "does not hold"),
        ("— ledger.example.org", "— another.example.org", "not signed by ledger.example.org"),
        ("\n\n", "\n", "not a signed note"),
        ("1234", "12\t34", "not a signed note"),
        ("— ", "- ", "an em dash"),
    ],
)
def test_a_changed_note_does_not_open(old: str, new: str, says: str) -> None:
    """A note that was changed anywhere, or is not one, is refused with the reason."""
    with pytest.raises(CheckpointError, match=says):
        _open(signed(MADE, KEY, SECRET.sign).replace(old, new, 1))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("1234", "01234", "size of the tree"),
        ("1234", "-1", "size of the tree"),
        ("1234\n", "", "size of the tree|a line each"),
        ("AAEC", "AA", "32 bytes"),
        ("AAEC", "AA C", "32 bytes"),
    ],
)
def test_a_text_that_says_no_tree_is_told(old: str, new: str, says: str) -> None:
    """A size is a plain decimal and a root is 32 bytes: another is refused, signed or not."""
    with pytest.raises(CheckpointError, match=says):
        unsigned(signed(MADE, KEY, SECRET.sign).replace(old, new, 1))


def test_a_good_signature_beside_a_bad_one_of_the_same_key_is_not_enough() -> None:
    """Where one signature of the key fails the whole note is refused."""
    note = signed(MADE, KEY, SECRET.sign)
    other = signed(Checkpoint(MADE.origin, 1, MADE.root), KEY, SECRET.sign).splitlines()[-1]
    with pytest.raises(CheckpointError, match="does not hold"):
        _open(f"{note}{other}\n")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not a public key"),
        ("PeterNeumann+c74f20a3", "not a public key"),
        (PUBLIC.replace("c74f20a3", "c74f20a4"), "damaged"),
        (PUBLIC.replace("ARpc", "AhpC"), "another kind"),
        (PUBLIC[:-4], "not a public key|another kind"),
        (PRIVATE, "not a public key|another kind"),
    ],
)
def test_a_damaged_key_is_told(text: str, says: str) -> None:
    """A public key that is not one, or was mistyped, is refused with the reason."""
    with pytest.raises(CheckpointError, match=says):
        read_key(text)


@pytest.mark.parametrize("name", ["", "two words", "a+b", "line\nbreak", "thin\u2009space"])
def test_a_name_has_no_spaces_and_no_plus(name: str) -> None:
    """A name that a key cannot have is refused, with one that it can."""
    with pytest.raises(CheckpointError, match="such as ledger"):
        check_name(name)

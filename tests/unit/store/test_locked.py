"""Files locked with a passphrase: what comes out is what went in, and nothing else does."""

from __future__ import annotations

import io
import subprocess
import sys

import pytest

from valuation.errors import StoreError
from valuation.store import locked, zip_format

WORDS = "five words drawn by dice"


@pytest.fixture(autouse=True)
def _small_pieces(monkeypatch):
    """Let small files have many pieces."""
    monkeypatch.setattr(locked, "_PIECE", 64)


@pytest.mark.parametrize("size", [0, 1, 63, 64, 65, 128, 1000])
def test_what_was_locked_comes_out_as_it_went_in(tmp_path, size):
    content = bytes(n % 251 for n in range(size))
    (tmp_path / "a").write_bytes(content)
    locked.lock(tmp_path / "a", tmp_path / "b", WORDS)
    assert zip_format.is_locked(tmp_path / "b")
    assert not zip_format.is_locked(tmp_path / "a")
    locked.unlock(tmp_path / "b", tmp_path / "c", WORDS)
    assert (tmp_path / "c").read_bytes() == content
    assert content[:32] not in (tmp_path / "b").read_bytes() or size < 32


def spoilt(content: bytes) -> dict[str, bytes]:
    head, pieces = content[:31], [content[at : at + 80] for at in range(31, len(content), 80)]
    flipped = bytearray(content)
    flipped[200] ^= 1
    salted = bytearray(content)
    salted[10] ^= 1
    return {
        "a letter changed": bytes(flipped),
        "another salt": bytes(salted),
        "cut off in a piece": content[:-1],
        "cut off after a piece": head + b"".join(pieces[:-1]),
        "nothing but its head": head,
        "half a head": content[:20],
        "two pieces in another order": head + pieces[1] + pieces[0] + b"".join(pieces[2:]),
        "a piece twice": head + pieces[0] + b"".join(pieces),
        "something after it": content + b"x",
    }


@pytest.mark.parametrize("how", list(spoilt(bytes(1000))))
def test_a_file_that_isnt_as_it_was_made_is_refused_and_leaves_nothing(tmp_path, how):
    (tmp_path / "a").write_bytes(bytes(range(250)))
    locked.lock(tmp_path / "a", tmp_path / "b", WORDS)
    (tmp_path / "b").write_bytes(spoilt((tmp_path / "b").read_bytes())[how])
    with pytest.raises(StoreError, match="the passphrase is another, or the file was changed"):
        locked.unlock(tmp_path / "b", tmp_path / "c", WORDS)
    assert not (tmp_path / "c").exists()


def test_another_passphrase_is_refused_and_a_short_one_never_taken(tmp_path):
    (tmp_path / "a").write_bytes(b"Dear Sirs")
    locked.lock(tmp_path / "a", tmp_path / "b", WORDS)
    with pytest.raises(StoreError, match="the passphrase is another"):
        locked.unlock(tmp_path / "b", tmp_path / "c", WORDS + " ")
    with pytest.raises(StoreError, match="too short"):
        locked.lock(tmp_path / "a", tmp_path / "d", "short")
    assert sorted(path.name for path in tmp_path.glob("?")) == ["a", "b"]


def test_it_is_the_order_of_bytes_that_is_told(tmp_path):
    """Opened by the standard library's scrypt and nothing of ours but the order."""
    from hashlib import scrypt

    from cryptography.hazmat.primitives.ciphers.aead import AESGCM

    (tmp_path / "a").write_bytes(b"x" * 100)
    locked.lock(tmp_path / "a", tmp_path / "b", WORDS)
    file = io.BytesIO((tmp_path / "b").read_bytes())
    head = file.read(31)
    assert head[:8] == b"valuati1"
    key = scrypt(WORDS.encode(), salt=head[8:24], n=2**17, r=8, p=1, dklen=32, maxmem=2**28)
    first = AESGCM(key).decrypt(head[24:] + bytes(5), file.read(80), head)
    last = AESGCM(key).decrypt(head[24:] + bytes([0, 0, 0, 1, 1]), file.read(), head)
    assert first + last == b"x" * 100


def test_who_locks_nothing_loads_no_lock():
    code = "import sys, valuation.service.visits; print('cryptography' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"

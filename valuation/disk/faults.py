"""What a disk complains of when a file is read or written, in words that say what to do."""

from __future__ import annotations

import errno

_WRITING = {
    errno.ENOSPC: "the disk is full; make room on it, then try again",
    errno.EDQUOT: "the disk has no more room for this user; make room on it, then try again",
    errno.EFBIG: "the disk takes no file of this size; write it to another one",
    errno.EROFS: "the disk can only be read; write it to another one",
    errno.EACCES: "this user may not write in its folder; allow it, or name another one",
    errno.EPERM: "this user may not write it; allow it, or name another file",
    errno.EEXIST: "there is a file of this name; name another folder",
    errno.ENOENT: "its folder is missing; make it first",
    errno.ENOTDIR: "its folder is no folder; name another one",
    errno.ENAMETOOLONG: "its name is too long; give it a shorter one",
    errno.EIO: "the disk fails; write it to another one, and see to this one",
}

_READING = {
    errno.ENOENT: "the file is missing; check its name and its folder",
    errno.ENOTDIR: "the file is missing; check its name and its folder",
    errno.EISDIR: "this is a folder; name a file in it",
    errno.EACCES: "this user may not read it; allow it, or name another file",
    errno.ENXIO: "this is no ordinary file; give one on the disk",
    errno.ENAMETOOLONG: "its name is too long; give it a shorter one",
    errno.EIO: "the disk fails; use another copy of the file",
}


def why_not_written(error: OSError) -> str:
    """Return in one sentence why a file could not be written; nothing of it is there then."""
    why = _WRITING.get(error.errno or 0) or str(error.strerror or error)
    return f"it can't be written, and nothing was left behind: {why}"


def why_not_read(error: OSError | ValueError) -> str:
    """Return in one sentence why a file could not be read; a `ValueError` is that of a name with a NUL in it."""
    known = _READING.get(error.errno or 0) if isinstance(error, OSError) else ""
    return known or f"the file can't be read ({getattr(error, 'strerror', None) or error})"

"""Which files an import looked at: what a cache must compare before it answers."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from hashlib import blake2b
from pathlib import Path

__all__ = ["FOREIGN", "digest", "note", "note_foreign", "traced"]

#: In place of a path: a reader that is not built in took part, whose files and
#: whose own changes nobody notes.
FOREIGN = "<reader of another package>"

#: Path -> digest of the bytes read there, None where no file was found.
Files = dict[str, str | None]

_FILES: ContextVar[Files | None] = ContextVar("_FILES", default=None)


def digest(data: bytes) -> str:
    """Return a short hash of a file's bytes."""
    return blake2b(data, digest_size=16).hexdigest()


def note(path: str | Path, data: bytes | None) -> None:
    """Remember that a file was read, or (``data`` None) looked for in vain.

    Every importer calls this for each file on which its board depends, except
    that `ohmtrail.importers._text.read_bytes` does so by itself.  Costs nothing
    while nobody listens.
    """
    files = _FILES.get()
    if files is not None:
        files[str(path)] = None if data is None else digest(data)


def note_foreign() -> None:
    """Remember that a reader of another package was used: keep no answer of it."""
    files = _FILES.get()
    if files is not None:
        files[FOREIGN] = None


@contextmanager
def traced() -> Iterator[Files]:
    """Collect the files that are read inside the block.

    Examples
    --------
    >>> with traced() as files:
    ...     note("a.txt", b"")
    ...     note("b.txt", None)
    >>> files["b.txt"] is None, len(files["a.txt"])
    (True, 32)
    """
    files: Files = {}
    token = _FILES.set(files)
    try:
        yield files
    finally:
        _FILES.reset(token)

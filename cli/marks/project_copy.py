"""The marked copy of a project: written, and made plain again."""

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

import click

from ohmtrail.cli.marks.formats import FORMATS, without_marks
from ohmtrail.cli.marks.insertions import (
    Insertion,
    digest,
    insert,
    spans_of,
    take_out,
)

__all__ = ["MANIFEST", "Copy", "check_out", "unmark", "write_copy"]

#: In the marked copy: what was put into which file.
MANIFEST = "ohmtrail-marks.json"
#: Folders above ROOT in which the manifest may be.
_ABOVE = 8
_BYTES_MAX = 512 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Copy:
    """What was written."""

    #: The root file in the copy.
    root: Path
    #: Every file of the copy.
    files: tuple[Path, ...]
    #: Those that hold marks.
    marked: tuple[Path, ...]


def _failure(path: Path, error: OSError) -> click.ClickException:
    return click.ClickException(f"{path}: {(error.strerror or str(error)).lower()}")


def check_out(out: Path) -> None:
    """See that a copy can go into a folder.

    Raises
    ------
    click.ClickException
        If it is a file, or holds anything but an earlier copy that nobody changed.
    """
    try:
        if not out.exists():
            return
        if not out.is_dir():
            raise click.ClickException(
                f"{out}: found a file, expected a folder (--out)"
            )
        if not any(out.iterdir()):
            return
    except OSError as error:
        raise _failure(out, error) from error
    manifest = out / MANIFEST
    if not manifest.is_file():
        raise click.ClickException(
            f"{out}: found other files in it, expected a new or empty folder, or an "
            "earlier marked copy (--out)"
        )
    for entry in _entries(manifest):
        path = out / entry.file
        if path.is_file() and digest(_read(path)) not in (entry.marked, entry.original):
            raise click.ClickException(
                f"{path}: changed since it was marked; expected a new folder, so that "
                "nothing is lost (--out)"
            )


def write_copy(
    root: Path,
    files: Sequence[Path],
    marks: Mapping[Path, tuple[str, Sequence[Insertion]]],
    out: Path,
) -> Copy:
    """Write a copy of a project with insertions.

    Parameters
    ----------
    root : Path
        Root file of the original.
    files : sequence of Path
        All files of the project; they keep their places relative to one another.
    marks : mapping
        Format and insertions by file.
    out : Path
        As `check_out` wants it.

    Raises
    ------
    click.ClickException
        If a file cannot be read or written.

    Notes
    -----
    Originals are only read.  All are read before anything is written, so that a
    folder within the project may be named.
    """
    base = _base(root, files)
    data = {path: _read(path) for path in dict.fromkeys(map(_plain, files))}
    inserted = {
        _plain(path): (form, tuple(some)) for path, (form, some) in marks.items()
    }
    entries = []
    written = []
    for path, original in data.items():
        name = path.relative_to(base)
        form, some = inserted.get(path, ("", ()))
        marked = insert(original, some)
        target = out / name
        _write(target, marked)
        written.append(target)
        if some:
            entries.append(
                {
                    "file": name.as_posix(),
                    "format": form,
                    "original": digest(original),
                    "marked": digest(marked),
                    "insertions": [list(span) for span in spans_of(some)],
                }
            )
    manifest = {
        "what": "marks that 'ohmtrail mark' put into this copy; 'ohmtrail unmark' "
        "needs this file to take them out",
        "root": _plain(root).relative_to(base).as_posix(),
        "files": entries,
    }
    _write(out / MANIFEST, json.dumps(manifest, indent=1).encode() + b"\n")
    names = tuple(out / str(entry["file"]) for entry in entries)
    return Copy(out / _plain(root).relative_to(base), tuple(written), names)


def _plain(path: Path) -> Path:
    return Path(os.path.abspath(path))


def _base(root: Path, files: Iterable[Path]) -> Path:
    """Return the folder that holds all files, that of the root if it does."""
    folders = [_plain(root).parent, *(_plain(path).parent for path in files)]
    return Path(os.path.commonpath(folders))


def _read(path: Path) -> bytes:
    from ohmtrail.cli._files import read_file

    return read_file(path, _BYTES_MAX)


def _write(path: Path, data: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_name(path.name + ".part")
        part.write_bytes(data)
        part.replace(path)
    except OSError as error:
        raise _failure(path, error) from error


@dataclass(frozen=True, slots=True)
class _Entry:
    file: str
    format: str
    original: str
    marked: str
    spans: tuple[tuple[int, int], ...]


def _entries(manifest: Path) -> list[_Entry]:
    try:
        told = json.loads(_read(manifest))
        return [_entry(item) for item in told["files"]]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise click.ClickException(
            f"{manifest}: found a damaged list of marks, expected what 'ohmtrail mark' "
            "wrote"
        ) from None


def _entry(item: Any) -> _Entry:
    name = PurePosixPath(item["file"])
    if name.is_absolute() or ".." in name.parts or "\\" in item["file"]:
        raise ValueError
    spans = tuple((int(start), int(length)) for start, length in item["insertions"])
    return _Entry(
        str(name),
        str(item["format"]),
        str(item["original"]),
        str(item["marked"]),
        spans,
    )


def unmark(root: Path) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Take the marks out of a marked copy, in place.

    Parameters
    ----------
    root : Path
        Its root file, or its folder.

    Returns
    -------
    (files, changed)
        Files that are as the original was; files that were changed since they were
        marked and have lost the marks alone.

    Raises
    ------
    click.ClickException
        If there is no list of marks, or a file was changed in a format that cannot
        tell its marks: nothing is written then.
    """
    manifest = _manifest_of(root)
    plain: dict[Path, bytes] = {}
    changed: dict[Path, bytes] = {}
    for entry in _entries(manifest):
        path = manifest.parent / entry.file
        if not path.is_file():
            continue
        data = _read(path)
        found = digest(data)
        if found == entry.original:
            plain[path] = data
            continue
        if found == entry.marked:
            plain[path] = _taken_out(path, data, entry)
            continue
        stripped = (
            without_marks(entry.format, data) if entry.format in FORMATS else None
        )
        if stripped is None:
            raise click.ClickException(
                f"{path}: changed since it was marked, and its marks cannot be told "
                "from the rest; nothing was taken out"
            )
        changed[path] = stripped
    for path, data in (plain | changed).items():
        _write(path, data)
    try:
        manifest.unlink()
    except OSError as error:
        raise _failure(manifest, error) from error
    return tuple(plain), tuple(changed)


def _taken_out(path: Path, data: bytes, entry: _Entry) -> bytes:
    try:
        made = take_out(data, entry.spans)
    except ValueError:
        made = b""
    if digest(made) != entry.original:
        raise click.ClickException(
            f"{path}: the list of marks does not fit it; nothing was taken out"
        )
    return made


def _manifest_of(root: Path) -> Path:
    start = _plain(root)
    folder = start if start.is_dir() else start.parent
    for above in (folder, *folder.parents[:_ABOVE]):
        manifest = above / MANIFEST
        if manifest.is_file():
            return manifest
    raise click.ClickException(
        f"{root}: found no {MANIFEST} beside it or above, expected a copy that "
        "'ohmtrail mark' wrote"
    )

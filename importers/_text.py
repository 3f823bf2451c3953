"""Bytes and text of a design file: gzip undone, size bounded, errors in one line."""

import os
import stat
import zlib
from pathlib import Path
from typing import BinaryIO

from ohmtrail.importers._errors import ImporterError, ParseError
from ohmtrail.importers._trace import note

__all__ = ["MAX_BYTES", "first_bytes", "read_bytes", "read_head", "read_text"]

#: Files larger than this (unpacked) are refused; the largest real schematic seen
#: has 9 MB, board files reach some 100 MB.
MAX_BYTES = 512 * 1024 * 1024
#: A pipe that nobody writes to opens at once; Windows needs O_BINARY.
_NO_WAIT = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
_GZIP = b"\x1f\x8b\x08"


def _open_error(path: Path, error: OSError) -> ImporterError:
    reason = (error.strerror or str(error)).lower()
    if isinstance(error, FileNotFoundError):
        reason = "no such file"
    elif isinstance(error, IsADirectoryError):
        reason = "found a directory, expected a file"
    return ImporterError(f"{path}: {reason}")


def _open(path: Path) -> BinaryIO:
    """Open a file to read; a pipe or device, which might never end, is an error.

    Raises
    ------
    OSError, ValueError
        As `open`.
    ImporterError
        If it is no regular file.
    """
    handle = os.open(path, os.O_RDONLY | _NO_WAIT)
    mode = os.fstat(handle).st_mode
    if stat.S_ISREG(mode):
        return open(handle, "rb")
    os.close(handle)
    if stat.S_ISDIR(mode):
        raise IsADirectoryError
    raise ImporterError(f"{path}: found a pipe or a device, expected a file")


def _unpack(data: bytes, path: Path, limit: int, whole: bool) -> bytes:
    """Undo gzip, giving at most ``limit`` bytes."""
    out = bytearray()
    at = 0
    while data.startswith(_GZIP, at) and len(out) <= limit:
        unpacker = zlib.decompressobj(wbits=31)
        step = 4096  # a file may hold many small members
        while at < len(data) and not unpacker.eof and len(out) <= limit:
            piece = data[at : at + step]
            try:
                out += unpacker.decompress(piece, limit + 1 - len(out))
            except zlib.error as error:
                raise ParseError(f"found damaged gzip data ({error})", path) from None
            at += len(piece) - len(unpacker.unused_data)
            step *= 2
        if whole and not unpacker.eof and len(out) <= limit:
            raise ParseError("found end of file inside gzip data", path)
    return bytes(out)


def first_bytes(path: Path, size: int) -> bytes:
    """Return the first bytes of a file as they are.

    Parameters
    ----------
    path : Path
        The file.
    size : int
        At most so many bytes.

    Raises
    ------
    ImporterError
        If the file cannot be read, or is a pipe or a device.
    """
    try:
        with _open(path) as file:
            return file.read(size)
    except OSError as error:
        raise _open_error(path, error) from None
    except ValueError:  # a null byte in the name
        raise ImporterError(f"{str(path)!r}: no such file") from None


def read_head(path: Path, size: int) -> bytes:
    """Return the first bytes of a file, gzip undone.

    Parameters
    ----------
    path : Path
        The file.
    size : int
        At most so many bytes.

    Raises
    ------
    ImporterError
        If the file cannot be read.
    """
    data = first_bytes(path, size)
    if data.startswith(_GZIP):
        return _unpack(data, path, size, whole=False)[:size]
    return data


def read_bytes(path: Path) -> bytes:
    """Return the bytes of a file, gzip undone.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    ImporterError
        If the file cannot be read, is damaged gzip, or unpacks to more than
        `MAX_BYTES`.
    """
    try:
        with _open(path) as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        note(path, None)
        raise _open_error(path, error) from None
    except ValueError:
        raise ImporterError(f"{str(path)!r}: no such file") from None
    note(path, data)
    if data.startswith(_GZIP):
        data = _unpack(data, path, MAX_BYTES, whole=True)
    if len(data) > MAX_BYTES:
        limit = MAX_BYTES // 1024 // 1024
        raise ParseError(f"found more than {limit} MB, expected less", path)
    return data


def read_text(path: Path) -> str:
    """Return the text of a UTF-8 file (BOM dropped, gzip undone).

    Old programs wrote other encodings: bytes that are no UTF-8 are read as
    Windows-1252, which agrees with Latin-1 on letters.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    ImporterError
        As `read_bytes`, or if the file holds null bytes (then it is no text).
    """
    data = read_bytes(path)
    if b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise ParseError("found a null byte, expected text", path, line)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")

"""The files of a project whose format has no list of them: those that reading takes."""

import os
from collections.abc import Callable
from pathlib import Path

__all__ = ["files_read"]


def files_read(path: Path, read: Callable[[Path], object]) -> list[Path]:
    """Return the root and every file below its folder that reading it opens.

    Parameters
    ----------
    path : Path
        The root file.
    read : callable
        Reads it.

    Returns
    -------
    list of Path
        The root first.  Installed libraries are not in it: a copy finds them where
        the original does.

    Notes
    -----
    As long as reading takes.
    """
    from ohmtrail.importers._trace import traced

    with traced() as files:
        read(path)
    root = Path(os.path.abspath(path))
    found = [
        Path(os.path.abspath(name)) for name, data in files.items() if data is not None
    ]
    return list(
        dict.fromkeys([root, *(one for one in found if root.parent in one.parents)])
    )

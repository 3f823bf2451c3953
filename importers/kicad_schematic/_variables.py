"""What a project's own file says: text variables and unit suffixes."""

from functools import cached_property
from pathlib import Path
from typing import Any

from ohmtrail.importers._errors import ImporterError
from ohmtrail.importers._text import read_text

__all__ = ["Project"]


class Project:
    """The ``.kicad_pro`` file beside the root, read only when something asks."""

    def __init__(self, root: Path) -> None:
        self.root = root
        plain = root.with_name(root.name.removesuffix(".gz"))
        self.path = plain.with_suffix(".kicad_pro")
        #: Whether the file was asked for, is there, and cannot be read.
        self.damaged = False

    @cached_property
    def settings(self) -> dict[str, Any]:
        """The file's settings; empty where there is none or it is damaged."""
        try:
            text = read_text(self.path)
        except ImporterError:
            self.damaged = self.path.exists()
            return {}
        import json

        try:
            found = json.loads(text)
        except (ValueError, RecursionError):
            found = None
        self.damaged = not isinstance(found, dict)
        return {} if self.damaged else found

    def _section(self, name: str) -> dict[str, Any]:
        found = self.settings.get(name)
        return found if isinstance(found, dict) else {}

    @cached_property
    def unit_first(self) -> str:
        """Suffix of the first unit of a part ("A")."""
        code = self._section("schematic").get("subpart_first_id", 65)
        return chr(code) if isinstance(code, int) and 32 < code < 127 else "A"

    @cached_property
    def unit_separator(self) -> str:
        """Text between reference and unit suffix, empty by default."""
        code = self._section("schematic").get("subpart_id_separator", 0)
        return chr(code) if isinstance(code, int) and 32 < code < 127 else ""

    def variable(self, name: str) -> str | None:
        """Return a text variable of the project, or None."""
        found = self._section("text_variables").get(name)
        if found is not None:
            return str(found)
        return self.path.stem if name == "PROJECTNAME" else None

    def environment(self, name: str) -> str | None:
        """Return what a variable in a file name stands for, or None."""
        return str(self.root.parent) if name == "KIPRJMOD" else self.variable(name)

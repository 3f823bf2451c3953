"""``ohmtrail job-set``: has KiCad write checklist, marks and sheets by itself."""

import json
import os
import re
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from ohmtrail.netanalysis.board import Board

__all__ = ["Job", "command", "job_set", "jobs_of", "word"]

#: Identities of jobs are made from it and their place, so that a set made again is
#: the same.
_SPACE = uuid.UUID("0f6d9a52-7f0c-5d1c-9b0e-6a3c2f5b8e41")
#: Folder below the project where the runner puts the results.
_RESULTS = "${KIPRJMOD}/bench"


@dataclass(frozen=True, slots=True)
class Job:
    """One command of a job set."""

    description: str
    #: Program and arguments, each as `word` or a variable of KiCad's needs it.
    words: tuple[str, ...]


def word(text: str) -> str:
    r"""Return one argument as a job's command line holds it.

    KiCad puts variables in first and splits the line then, at blanks outside quotes;
    no shell sees it.  A sign that would begin a variable's name is therefore parted
    from the name by a quote.

    Raises
    ------
    ValueError
        If the text holds a control character.

    Examples
    --------
    >>> word("VMAIN"), word("net 5"), word("$HOME"), word('a"b')
    ('VMAIN', '"net 5"', '"$"H"OME"', '"a\\"b"')
    """
    if re.fullmatch(r"[\w.,:/+=-]+", text):
        return text
    return f'"{_escaped(text)}"'


def _escaped(text: str) -> str:
    """Return text as it stands between quotes."""
    if re.search(r"[\x00-\x1f\x7f]", text):
        raise ValueError(f"found a control character in {text!r}, expected none")
    escaped = re.sub(r'(["\\])', r"\\\1", text)
    return re.sub(r"([$@])([\w({])", r'\1"\2"', escaped)


def _in_project(name: str) -> str:
    """Return a file of the project as an argument."""
    return f'"${{KIPRJMOD}}/{_escaped(name)}"'


def _result(name: str) -> str:
    """Return a file among the results as an argument."""
    return f'"${{JOBSET_OUTPUT_WORK_PATH}}/{_escaped(name)}"'


def jobs_of(
    root: str, rail: str, *, log: str | None, layout: str | None, program: str
) -> Iterator[Job]:
    """Yield the jobs of one shorted net; files are named as seen from the project."""
    board = (_in_project(root),)
    beside = () if layout is None else ("--with", _in_project(layout))
    told = () if log is None else ("--log", _in_project(log))
    on = ("--rail", word(rail))
    run = word(program)
    for form, use in (("html", "for the screen"), ("pdf", "to print")):
        out = ("--format", form, "--out", _result(f"checklist.{form}"))
        yield Job(
            f"Probe checklist of {rail} {use}",
            (run, "checklist", *board, *beside, *on, *told, *out),
        )
    yield Job(
        f"Copy of the project with the marks of {rail}",
        (run, "mark", *board, *beside, *on, *told, "--out", _result("marked")),
    )
    sheets = ("kicad-cli", "sch", "export", "pdf", _result(f"marked/{root}"))
    yield Job("Marked sheets", (*sheets, "--output", _result("marked-sheets.pdf")))
    if log is not None:
        out = ("--format", "html", "--out", _result("report.html"))
        yield Job("Report so far", (run, "report", *board, *beside, *told, *out))


def job_set(jobs: list[Job]) -> str:
    """Return a job set that KiCad 9 runs, with one output: a folder of the project.

    Notes
    -----
    The keys are those that ``kicad-cli`` 9.0.8 was seen to read: ``jobs`` and
    ``outputs``, each with ``id``, ``type`` and ``settings``; ``special_execute`` is
    the type of a job that runs a program.
    """
    return (
        json.dumps(
            {
                "jobs": [
                    {
                        "description": job.description,
                        "id": str(uuid.uuid5(_SPACE, f"job {n}")),
                        "settings": {
                            "command": " ".join(job.words),
                            "description": "",
                            "ignore_exit_code": False,
                            "output_filename": "",
                            "record_output": False,
                        },
                        "type": "special_execute",
                    }
                    for n, job in enumerate(jobs, 1)
                ],
                "meta": {"version": 1},
                "outputs": [
                    {
                        "description": "Bench papers",
                        "id": str(uuid.uuid5(_SPACE, "results")),
                        "only": [],
                        "settings": {"description": "", "output_path": _RESULTS},
                        "type": "folder",
                    }
                ],
            },
            indent=2,
            ensure_ascii=False,
        )
        + "\n"
    )


@click.command("job-set")
@click.argument("root", metavar="ROOT.kicad_sch")
@click.option("--rail", metavar="NET", required=True, help="The shorted net.")
@click.option("--log", metavar="FILE", help="The bench log, for suspects and report.")
@click.option(
    "--with",
    "layout",
    metavar="LAYOUT",
    help="The board's layout; by default the .kicad_pcb of the same name.",
)
@click.option(
    "--program",
    default="ohmtrail",
    show_default=True,
    metavar="PATH",
    help="How to start ohmtrail where the viewer does not find it by name.",
)
@click.option("--out", metavar="FILE", help="Write to FILE, not to stdout.")
def command(
    root: str,
    rail: str,
    log: str | None,
    layout: str | None,
    program: str,
    out: str | None,
) -> None:
    """Write a job set: KiCad 9 then makes checklist, marks and sheets by itself.

    Put it beside the project file as NAME.kicad_jobset, open it in KiCad and press
    generate, or type: kicad-cli jobset run --file NAME.kicad_jobset ./PROJECT.kicad_pro
    (with a folder, "./", before the project's name). The results lie in the project's
    folder "bench".
    """
    from ohmtrail.cli._files import read_file
    from ohmtrail.cli._load import Request, load_board
    from ohmtrail.cli._output import write_document
    from ohmtrail.netanalysis.probe_points import find_net

    path = Path(root)
    if path.suffix != ".kicad_sch":
        raise click.ClickException(
            f"{root}: found no .kicad_sch, expected the root sheet of a KiCad project"
        )
    board = load_board(Request(path))
    net = find_net(board, rail)
    layout = layout or _layout_beside(path, board)
    if log is not None:
        read_file(Path(log), 0, "--log")
    if layout is not None:
        read_file(Path(layout), 0, "--with")
    try:
        made = job_set(
            list(
                jobs_of(
                    path.name,
                    net,
                    log=_from(path, log),
                    layout=_from(path, layout),
                    program=program,
                )
            )
        )
    except ValueError as error:
        raise click.ClickException(str(error)) from error
    write_document(made, out)


def _layout_beside(root: Path, board: "Board") -> str | None:
    """Return the layout of the project, None without one of the same board."""
    from ohmtrail.cli._errors import warn
    from ohmtrail.importers import load
    from ohmtrail.importers._errors import ImporterError

    layout = root.with_suffix(".kicad_pcb")
    if not layout.is_file():
        return None
    try:
        common = board.part_by_ref.keys() & load(layout).part_by_ref.keys()
    except ImporterError as error:
        warn(f"left out: {error}")
        return None
    if not common:
        warn(f"left out: {layout}: has no part in common with {board.name}")
        return None
    return str(layout)


def _from(root: Path, file: str | None) -> str | None:
    """Return a file's name as seen from the root's folder.

    Raises
    ------
    ValueError
        If there is no way from one to the other.
    """
    if file is None:
        return None
    try:
        found = os.path.relpath(file, root.parent)
    except ValueError as error:
        raise ValueError(f"{file}: expected a file on the project's drive") from error
    return PurePath(found).as_posix()

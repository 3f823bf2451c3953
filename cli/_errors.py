"""The one place where a failure becomes a line on stderr and an exit status."""

import os
import sys
from collections.abc import Sequence

import click

__all__ = ["BAD_INPUT", "WRONG_USAGE", "run", "warn"]

BAD_INPUT = 1
WRONG_USAGE = 2
_INTERRUPTED = 130


def _one_line(text: str) -> str:
    from ohmtrail.cli.render.plain import shown

    return shown(" ".join(text.split()))


def _say(text: str) -> None:
    bar = sys.modules.get("ohmtrail.cli._progress")
    row = f"ohmtrail: {_one_line(text)}\n"
    try:
        if bar is not None:
            bar.line(row)
        else:
            sys.stderr.write(row)
            sys.stderr.flush()
    except (OSError, ValueError):
        pass


def warn(text: str) -> None:
    """Print one warning line to stderr."""
    _say(f"warning: {text}")


def _usage_line(error: click.UsageError) -> str:
    text = error.format_message().rstrip(".")
    path = error.ctx.command_path if error.ctx is not None else "ohmtrail"
    return f"{text[:1].lower()}{text[1:]} (see '{path} --help')"


def _close_quietly() -> None:
    """Keep the interpreter from complaining about a pipe that was closed."""
    try:
        devnull = os.open(os.devnull, os.O_WRONLY)
        os.dup2(devnull, sys.stdout.fileno())
    except (OSError, ValueError):
        pass


class _ClosedPipe(Exception):
    """Whoever read stdout has gone."""


class _Interrupted(Exception):
    """Somebody pressed Ctrl-C."""


def _call(group: click.Group, arguments: Sequence[str] | None) -> int:
    # click turns a closed pipe into exit status 1 and prints a line feed at Ctrl-C;
    # here neither is a failure to speak of.
    invoke = group.invoke

    def guarded(ctx: click.Context) -> object:
        try:
            result = invoke(ctx)
            sys.stdout.flush()
        except BrokenPipeError as error:
            raise _ClosedPipe from error
        except KeyboardInterrupt as error:
            raise _Interrupted from error
        return result

    group.invoke = guarded  # type: ignore[method-assign]
    try:
        status = group.main(
            args=None if arguments is None else list(arguments),
            prog_name="ohmtrail",
            standalone_mode=False,
        )
    finally:
        group.invoke = invoke  # type: ignore[method-assign]
    return status if isinstance(status, int) else 0


def _is_bad_input(error: Exception) -> bool:
    """Tell an expected failure from a bug, importing nothing that is not there."""
    found = {
        module: getattr(sys.modules[module], name)
        for module, name in (
            ("ohmtrail.importers._errors", "ImporterError"),
            ("ohmtrail.netanalysis.board", "BoardError"),
            ("ohmtrail.netanalysis.nearest", "NotOnBoardError"),
            ("ohmtrail.netanalysis.diagnosis.log", "LogError"),
        )
        if module in sys.modules
    }
    return isinstance(error, tuple(found.values()))


def run(group: click.Group, arguments: Sequence[str] | None = None) -> int:
    """Run a command group; print expected failures as one line; return the status.

    An exception that is not an expected failure is a bug and is let through.
    """
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")
    try:
        return _call(group, arguments)
    except click.UsageError as error:
        _say(_usage_line(error))
        return WRONG_USAGE
    except click.ClickException as error:
        _say(error.format_message())
        return error.exit_code
    except click.exceptions.Exit as done:
        return done.exit_code
    except (KeyboardInterrupt, click.Abort, _Interrupted):
        return _INTERRUPTED
    except (_ClosedPipe, BrokenPipeError):
        _close_quietly()
        return 0
    except Exception as error:
        if not _is_bad_input(error):
            raise
        _say(str(error))
        return BAD_INPUT

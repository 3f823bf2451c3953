"""The command group: names the commands, imports one only when it is run."""

from importlib import import_module

import click

__all__ = ["COMMANDS", "group"]

#: Command -> (module, one line for ``--help``), in the order of a job.
COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("demo", "Write the demo board into a folder."),
    "summary": ("summary", "Say what a file holds, and what of it was not used."),
    "checklist": ("checklist", "Print the probe checklist of a rail, stage or part."),
    "map": ("map", "Draw where on the board the steps of a checklist are."),
    "draw": ("draw", "Draw switching stages as small schematics."),
    "expect": ("expect", "Say what the meter should read between two points."),
    "short": ("short", "List all that can hold a net down, links followed."),
    "inject": ("inject", "Give the limits for injecting into a shorted net."),
    "rank": ("rank", "Rank the suspects of a bench log, with the reasons."),
    "next": ("next", "Say what to do next on the bench."),
    "weigh": ("weigh", "Weigh a suggestion against the readings of a log."),
    "mark": ("mark", "Mark a shorted net in a copy of the schematic's own files."),
    "unmark": ("unmark", "Take the marks out of such a copy again."),
    "report": ("report", "Write a report of what was found and done."),
    "share": ("share", "Write board, log and question into one file for others."),
    "net": ("net", "List the parts on a net, and those beyond its links."),
    "part": ("part", "List a part's pins, mates and stages."),
    "rails": ("rails", "List supply rails with volts, source and loads."),
    "parallel": ("parallel", "List the devices that sit in parallel."),
    "stages": ("stages", "List switching stages with their gate chains."),
    "nets": ("nets", "List every net with its pins."),
    "table": ("table", "Write a table to fill in while tracing by eye."),
    "formats": ("formats", "List the file formats that are read."),
    "viewer-command": (
        "viewer_command",
        "Print the line to paste into the schematic editor.",
    ),
    "job-set": (
        "job_set",
        "Write a job set for KiCad: checklist, marks and sheets.",
    ),
    "completion": ("completion", "Print the shell completion script."),
}

_EPILOG = """\b
Every command takes --help. With --json the answer is for programs.
Exit status: 0 answered; 1 bad input or not on the board; 2 wrong usage.
Completion in bash (zsh, fish likewise): eval "$(ohmtrail completion bash)"
"""


class LazyGroup(click.Group):
    """A group whose commands are modules, imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the commands in the order of a job."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import a command's module; None for an unknown name."""
        entry = COMMANDS.get(cmd_name)
        if entry is None:
            return None
        command = import_module(f"ohmtrail.cli.{entry[0]}").command
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or name the nearest ones."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from ohmtrail.netanalysis.nearest import nearest

            near = nearest(args[0], COMMANDS)
            hint = f"; did you mean {' or '.join(near)}?" if near else ""
            ctx.fail(f"no command {args[0]!r}{hint}")
        return super().resolve_command(ctx, args)

    def format_commands(
        self, ctx: click.Context, formatter: click.HelpFormatter
    ) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


def _version(ctx: click.Context, param: click.Parameter, value: bool) -> None:
    if value and not ctx.resilient_parsing:
        from ohmtrail import __version__

        click.echo(f"ohmtrail {__version__}")
        ctx.exit()


@click.group(
    cls=LazyGroup,
    epilog=_EPILOG,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_version,
    help="Print the version.",
)
@click.pass_context
def group(ctx: click.Context) -> None:
    """Find what holds a net down on a dead board.

    Reads open schematics and netlists; says where to put both probes, what the
    meter should read, and what it means when it does not.
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())

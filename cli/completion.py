"""``ohmtrail completion``: the script that completes commands in a shell."""

import click

from ohmtrail.cli._output import say

__all__ = ["command"]

_SHELLS = ("bash", "zsh", "fish")
_HOW = {
    "bash": '# in ~/.bashrc:  eval "$(ohmtrail completion bash)"',
    "zsh": '# in ~/.zshrc:  eval "$(ohmtrail completion zsh)"',
    "fish": "# in ~/.config/fish/config.fish:  ohmtrail completion fish | source",
}


@click.command("completion")
@click.argument("shell", type=click.Choice(_SHELLS), metavar="bash|zsh|fish")
def command(shell: str) -> None:
    """Print the completion script of a shell."""
    from click.shell_completion import get_completion_class

    from ohmtrail.cli._group import group

    kind = get_completion_class(shell)
    assert kind is not None
    # Not source(): for bash that starts a shell only to learn its version.
    made = kind(group, {}, "ohmtrail", "_OHMTRAIL_COMPLETE")
    say(_HOW[shell])
    say(made.source_template % made.source_vars())

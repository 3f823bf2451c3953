"""The ``ohmtrail`` command."""


def main() -> int:
    """Run the command line."""
    raise NotImplementedError

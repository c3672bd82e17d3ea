"""The command line."""


def main() -> None:
    """Open the command."""

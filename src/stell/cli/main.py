"""The command's entry point."""

import argparse

from stell import __version__


def main() -> None:
    """Print what stell is and which version this is."""
    parser = argparse.ArgumentParser(prog="stell", description="Examine rams before mating.")
    parser.add_argument("--version", action="version", version=__version__)
    parser.parse_args()
    parser.print_help()

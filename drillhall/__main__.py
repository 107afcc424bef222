"""Runs the command line: `python -m drillhall`."""

from drillhall.cli import main

if __name__ == "__main__":
    main()

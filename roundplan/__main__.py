"""``python -m roundplan``: the command line."""

from roundplan.cli import run

if __name__ == "__main__":
    run()

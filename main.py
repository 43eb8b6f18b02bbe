"""Starts Loomside."""

from tracker.app.command_line import main

if __name__ == "__main__":
    raise SystemExit(main())

"""Starts Loomside."""

from tracker.start import main

if __name__ == "__main__":
    raise SystemExit(main())

"""Starts Loomside."""

import sys

if __name__ == "__main__":
    try:
        from tracker.command_line.main import main
    except (ImportError, EOFError, MemoryError) as error:
        # Nothing of the app is there yet to say it in another language, or to keep a trace.
        raise SystemExit(
            f"Loomside cannot start: {error}. Set it up as README.md says, then try again."
        ) from None
    sys.exit(main())

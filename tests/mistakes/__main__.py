"""Try every planted mistake, or those whose names are given: python -m tests.mistakes [--suite outside|unit|both] [NAME ...]"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from tests.mistakes.planted import MISTAKES
from tests.mistakes.trial import SUITES, check_unharmed, copy_tree, read_theirs, try_mistake


def main() -> int:
    """Print what caught each mistake; return 1 when one lived."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", help="mistakes to try; none: all")
    parser.add_argument("--suite", choices=[*SUITES, "both"], default="outside")
    asked = parser.parse_args()
    unknown = set(asked.names) - {mistake.name for mistake in MISTAKES}
    if unknown:
        parser.error(f"no such mistake: {', '.join(sorted(unknown))}")
    mistakes = [mistake for mistake in MISTAKES if not asked.names or mistake.name in asked.names]
    lived = 0
    read_theirs()
    with tempfile.TemporaryDirectory() as folder:
        tree = copy_tree(Path(folder))
        for suite in SUITES if asked.suite == "both" else (asked.suite,):
            check_unharmed(tree, suite)
            for mistake in mistakes:
                verdict = try_mistake(tree, mistake, suite)
                lived += not verdict.caught
                print(
                    f"{suite:8} {'caught' if verdict.caught else 'LIVED':7} {mistake.name}: {verdict.by}",
                    flush=True,
                )
    print(f"{len(mistakes)} mistakes tried, {lived} lived")
    return 1 if lived else 0


if __name__ == "__main__":
    raise SystemExit(main())

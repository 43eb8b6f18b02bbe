"""Kinds of act are named once."""

from __future__ import annotations

import ast

from tests.parsed import ROOT, nodes_of, sources
from tracker.domain.act import ActKind
from tracker.domain.rug import PreparationKind


def test_the_code_names_kinds_of_act_in_one_place_only() -> None:
    kinds = {kind.value for kind in ActKind if " " in kind} - {kind.value for kind in PreparationKind}
    named = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.value}"
        for path in sources("tracker", "storage")
        if path.name != "act.py"
        for node in nodes_of(path)
        if isinstance(node, ast.Constant) and node.value in kinds
    ]
    assert not named, "\n".join(named)

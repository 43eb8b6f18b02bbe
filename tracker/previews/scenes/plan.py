"""Scenes of the page plan."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tracker.domain.rug import EDGES, Role
from tracker.presenters.plan import view
from tracker.presenters.plan.changes import add_edge
from tracker.previews.scene import Scene
from tracker.screens.plan.plan import PlanPage
from tracker.shell.page import there


def scenes(desk: Any) -> list[Scene]:
    """The cards, each part, one yarn, the sheet of shades; and the change of a plan."""

    def opened(part: str, yarn: bool = False, more: bool = False) -> Callable[[PlanPage], None]:
        def then(page: PlanPage) -> None:
            page.open(part)
            if yarn:
                page.open_yarn(there(page.form).of(Role.PILE if part == "colours" else Role.WEFT)[0].id)
            if more:
                page.yarn_part.show_more()

        return then

    found = [Scene("plan", "plan", {})]
    found += [Scene(f"plan-{part}", "plan", {}, opened(part)) for part in view.PARTS]
    found.append(
        Scene(
            "plan-cloth-more", "plan", {}, lambda page: (page.open("cloth"), page.parts["cloth"].show_more())
        )
    )
    found.append(
        Scene("plan-size-more", "plan", {}, lambda page: (page.open("size"), page.parts["size"].show_more()))
    )

    def edged(page: PlanPage) -> None:
        page.open("foundation")
        for role in EDGES:
            page.change(add_edge(there(page.form), role))

    def overcast(page: PlanPage) -> None:
        edged(page)
        page.open_yarn(there(page.form).of(Role.OVERCAST)[0].id)

    found.append(Scene("plan-edges", "plan", {}, edged))
    found.append(Scene("plan-overcasting", "plan", {}, overcast))
    found.append(Scene("plan-weft", "plan", {}, opened("foundation", yarn=True)))
    found.append(
        Scene(
            "plan-shades", "plan", {}, lambda page: (page.open("colours"), page.parts["colours"].add_colour())
        )
    )
    if desk.rug is not None:
        what = {"rug_id": desk.rug.plan.id}
        found.append(Scene("plan-change", "plan", what))
        found.append(Scene("plan-change-rug", "plan", what, opened("rug")))
        found.append(Scene("plan-change-colours", "plan", what, opened("colours")))
        if any(yarn.role is Role.PILE for yarn in desk.rug.yarns):
            found.append(Scene("plan-change-yarn", "plan", what, opened("colours", yarn=True, more=True)))
    return found

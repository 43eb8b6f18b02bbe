"""Scenes of the page plan."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tracker.domain.cartoon import CartoonPicture
from tracker.domain.rug import EDGES, Role
from tracker.presenters.plan import view
from tracker.presenters.plan.changes import add_edge, take_cartoon
from tracker.presenters.plan.form import cartoon_form
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

    views = [Scene("plan", "plan", {}, lambda page: page.back())]
    views += [Scene(f"plan-{part}", "plan", {}, opened(part)) for part in view.PARTS]
    views.append(
        Scene(
            "plan-cloth-more", "plan", {}, lambda page: (page.open("cloth"), page.parts["cloth"].show_more())
        )
    )
    views.append(
        Scene("plan-size-more", "plan", {}, lambda page: (page.open("size"), page.parts["size"].show_more()))
    )

    def edged(page: PlanPage) -> None:
        page.open("foundation")
        for role in EDGES:
            page.change(add_edge(there(page.form), role))

    def overcast(page: PlanPage) -> None:
        edged(page)
        page.open_yarn(there(page.form).of(Role.OVERCAST)[0].id)

    views.append(Scene("plan-edges", "plan", {}, edged))
    views.append(Scene("plan-overcasting", "plan", {}, overcast))
    views.append(Scene("plan-weft", "plan", {}, opened("foundation", yarn=True)))
    views.append(
        Scene(
            "plan-shades", "plan", {}, lambda page: (page.open("colours"), page.parts["colours"].add_colour())
        )
    )

    def taken(page: PlanPage) -> None:
        page.open("rug")
        cartoon = desk.rug.cartoon
        picture = CartoonPicture(cells=cartoon.cells, palette=cartoon.palette, name="wall.jpg")
        page.cartoon.picture = picture
        page.change(take_cartoon(there(page.form), cartoon_form(picture, file="wall.png")))

    if desk.rug is not None and desk.rug.cartoon is not None:
        views.append(Scene("plan-cartoon", "plan", {}, taken))
    if desk.rug is not None:
        what = {"rug_id": desk.rug.plan.id}
        views.append(Scene("plan-change", "plan", what))
        views.append(Scene("plan-change-rug", "plan", what, opened("rug")))
        views.append(Scene("plan-change-colours", "plan", what, opened("colours")))
        if any(yarn.role is Role.PILE for yarn in desk.rug.yarns):
            views.append(Scene("plan-change-yarn", "plan", what, opened("colours", yarn=True, more=True)))
    return views

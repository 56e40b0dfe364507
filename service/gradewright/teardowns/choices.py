"""What a plan does with each part, by one word each."""

from __future__ import annotations

from gradewright.core.teardown.tree import Plan, Tree

SELL, OPEN, LEAVE, STAY, INSIDE = "sell-whole", "open", "leave", "stay-on", "stay-inside"


def choices(tree: Tree, plan: Plan) -> list[str]:
    """By number what the plan does with a part: sell it whole, open it, leave it (nobody is known to pay for
    it as it is), let it stay on what is left over, or inside of what is not opened.
    """
    found = []
    for node, reached, opened in zip(tree.nodes, plan.reached, plan.opened, strict=True):
        inside = node.inside
        if not reached:
            around_opens = inside is not None and plan.reached[inside] and plan.opened[inside]
            found.append(STAY if around_opens else INSIDE)
        elif opened:
            found.append(OPEN)
        else:
            found.append(SELL if node.whole is not None else LEAVE)
    return found

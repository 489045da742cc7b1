"""A plan on the terminal."""

from __future__ import annotations

from ventroute.cli.desk import Desk
from ventroute.cli.options import Options
from ventroute.model.plan import Plan


def show_plan(desk: Desk, plan: Plan, options: Options) -> None:
    """Print the summary; where files were written, say where."""
    from ventroute.drawing.retold import retold
    from ventroute.drawing.summary import terminal_summary
    from ventroute.rules.cautions import cautions

    for line in terminal_summary(retold(plan, options.units), options.units, cautions(desk.shop.pack)):
        print(line)
    if options.out:
        print(f"\nWritten to {options.out}: plan, lists, drawings, job sheet, report.")

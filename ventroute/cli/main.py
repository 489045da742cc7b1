"""The command line: names of commands, exit codes. Commands are imported when they are called."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence

from cyclopts import App

from ventroute.errors import InputError, VentrouteError

NO_ROUTE, WRONG_INPUT = 1, 2
# New objects before Python looks for rings among them. A command makes many that last to its end and few rings; looking
# as often as is usual was 4 % of a large site's time and 8 % of a small one's, and saved no memory worth its name.
NEW_OBJECTS = 100_000

app = App(
    name="ventroute",
    help="Plan the exhaust of a gas appliance: from its collar, through old flue holes or new ones, to the open air.",
    version_flags=["--version"],
    help_format="plaintext",  # nothing in the help needs a reader of markdown, which takes a while to load
)

_COMMANDS = (
    ("plan", "ventroute.cli.plan:plan", "Find routes for the house in a site file."),
    ("check", "ventroute.cli.check:check", "Judge a route that somebody drew, or a finished plan."),
    ("sizes", "ventroute.cli.sizes:sizes", "Show what fits in each material and size, by how much, and why not."),
    ("shop", "ventroute.cli.shop:shop", "Make the shopping and cut lists of a plan."),
    ("view", "ventroute.cli.view:view", "Work on a site, or look at a plan, in the browser."),
    ("survey", "ventroute.cli.survey:survey", "Ask for tape-measure readings and write a site file."),
    ("demo", "ventroute.cli.plan:demo", "Plan a packaged example, end to end."),
    ("catalog", "ventroute.cli.show:catalog", "List what the catalogs hold, each row with its source."),
    ("schema", "ventroute.cli.show:schema", "Print the site file's JSON Schema."),
)
for _name, _where, _help in _COMMANDS:
    app.command(_where, name=_name, help=_help)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run a command and leave with its exit status: 0 a compliant route, 1 none, 2 wrong input."""
    gc.set_threshold(NEW_OBJECTS)
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run a command; what went wrong goes to stderr."""
    try:
        status = app(arguments, exit_on_error=True, result_action="return_value")
    except InputError as error:
        for fault in error.faults:
            print(fault, file=sys.stderr)
        return WRONG_INPUT
    except VentrouteError as error:
        print(f"ventroute: {error}", file=sys.stderr)
        return WRONG_INPUT
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nothing more is wanted, not even at exit
        return 0
    except OSError as error:
        print(f"ventroute: {error.filename or ''}: {error.strerror or error}", file=sys.stderr)
        return WRONG_INPUT
    return status if isinstance(status, int) else 0

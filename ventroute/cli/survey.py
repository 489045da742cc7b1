"""`ventroute survey`: asks for tape-measure readings and writes a site file."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, TextIO, TypeVar

from cyclopts import Parameter

from ventroute.cli.options import Options, refuse_file
from ventroute.errors import Fault, InputError, UnitError, VentrouteError

T = TypeVar("T")


def survey(
    site: Annotated[Path, Parameter(help="The site file to write; it must not be there yet.")],
    /,
    *,
    options: Options | None = None,
) -> int:
    """Ask for tape-measure readings, one by one, and write a site file.

    Answers may come from a pipe, one a line, blank lines counting as blank answers and lines that begin with # as none.
    """
    from ventroute.cli.desk import open_text
    from ventroute.io.whole import write_whole

    options = options or Options()
    refuse_file(options.out)
    site = options.out / site.name if options.out else site
    if site.exists():
        raise VentrouteError(f"{site} is there already; name a file that is not")
    answers = Answers(sys.stdin, "<stdin>", patient=sys.stdin.isatty(), quiet=options.quiet)
    try:
        text = _interview(answers, "m" if options.units == "metric" else "ft")
    except KeyboardInterrupt:
        raise VentrouteError("stopped; nothing is written") from None
    try:
        open_text(text, str(site), site.parent)
    except InputError:
        print(text, end="")  # an hour with the tape is not thrown away: the faults name lines of this
        print(f"{site} is not written; the answers make this file, which has faults:", file=sys.stderr)
        raise
    write_whole(site, text.encode("utf-8"))
    if not options.quiet:
        print(f"{site} is written; now: ventroute plan {site}")
    return 0


def _interview(answers: Answers, unit: str) -> str:
    from ventroute.catalog.lookup import load_catalog
    from ventroute.io.site_words import FEATURES
    from ventroute.survey.interview import Interview
    from ventroute.survey.questions import Questions

    models = sorted(load_catalog().appliances)
    return Interview(Questions(answers, unit), FEATURES, models).run()


@dataclass(slots=True)
class Answers:
    """Answers from a person, who is asked again, or from a pipe, whose first bad line ends it."""

    stream: TextIO
    name: str
    patient: bool
    quiet: bool = False
    line: int = 0

    def ask(self, key: str, question: str, read: Callable[[str], T]) -> T:
        """The answer, once it reads; see `survey.questions.Asker`."""
        while True:
            text = self._next(key, question)
            try:
                return read(text)
            except UnitError as error:
                self.again(key, str(error))

    def tell(self, text: str) -> None:
        """Words between questions."""
        if not self.quiet:
            print(text, file=sys.stderr)

    def again(self, key: str, trouble: str) -> None:
        """A person may mend it; a pipe cannot.

        Raises
        ------
        InputError
            The answers come from a pipe.
        """
        if not self.patient:
            raise InputError([Fault(self.name, max(self.line, 1), key, trouble)])
        print(f"  {trouble}", file=sys.stderr)

    def _next(self, key: str, question: str) -> str:
        if self.patient:
            print(f"{question}: ", end="", file=sys.stderr, flush=True)
        while True:
            text = self._read_line(key)
            self.line += 1
            if not text:
                what = f"the answers end here; wanted: {question}"
                raise InputError([Fault(self.name, self.line, key, what)])
            if not text.startswith("#"):
                return text.rstrip("\r\n")

    def _read_line(self, key: str) -> str:
        try:
            return self.stream.readline(10_000)
        except UnicodeDecodeError:
            raise InputError([Fault(self.name, self.line + 1, key, "not UTF-8 text")]) from None

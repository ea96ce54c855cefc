"""What a notebook shows of a run: its short page, which is made only then."""

from __future__ import annotations

from baypulse.run.result import Result, show_in_notebooks


def register() -> None:
    """Tell results how a notebook shows them."""
    show_in_notebooks(_html)


def _html(result: Result) -> str:
    """Return the short page; figures are imported only when one is shown."""
    from baypulse.studies.run.report import notebook_html

    return notebook_html(result)

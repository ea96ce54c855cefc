"""What a notebook shows of a run: the answer and the pressure, drawn only then."""

from __future__ import annotations

from baypulse.run.result import Result, show_in_notebooks


def register() -> None:
    """Tell results how a notebook shows them."""
    show_in_notebooks(_html)


def _html(result: Result) -> str:
    """Return the answer and the pressure; figures are imported only when one is shown."""
    from baypulse.case.quantities import system_of, written_in
    from baypulse.show import as_html, figure_files, identity
    from baypulse.show.document import Figure
    from baypulse.studies.run import figures
    from baypulse.studies.run.document import document

    # two results of a notebook must not share an identity within their figures
    name = f"p{identity.fingerprint([result.case])[:12]}"
    shown = Figure(name, "Pressure in the bay", lambda: figures.figure(result, "pressure"))
    with written_in(system_of(result.case)):
        _, inside = figure_files.drawn([shown])
        return as_html.notebook(document(result), inside)

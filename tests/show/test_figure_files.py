"""A figure that cannot be drawn costs its report that figure only."""

from __future__ import annotations

from typing import Any

import pytest

from baypulse.show import figure_files
from baypulse.show.document import Figure
from baypulse.show.figures.base import panels


def fails() -> Any:
    raise ValueError("a name of <83> letters")


def test_a_figure_that_fails_leaves_a_sentence_in_its_place() -> None:
    good = Figure("good", "One that is drawn.", lambda: panels("A figure", (1.0,))[0])
    bad = Figure("bad", "One that is not.", fails)
    with pytest.warns(figure_files.FigureWarning, match="the figure bad cannot be drawn"):
        files, inside = figure_files.drawn([bad, good])
    assert set(files) == {"figures/good.png", "figures/good.svg"}
    assert inside["good"].startswith("<svg role=")
    assert "could not be drawn (a name of &lt;83&gt; letters)" in inside["bad"]

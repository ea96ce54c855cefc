"""Scales beside a panel: how far it goes can be read off every one."""

from __future__ import annotations

from itertools import pairwise

import pytest

from baypulse.show.figures.base import panels, ruler, style


@pytest.mark.parametrize("tall", [1.0, 1.1, 1.6, 2.7])
@pytest.mark.parametrize("most", [0.0037, 0.9, 1.01, 3.9, 4.4, 6.0, 24.0, 37.2, 99.0])
def test_an_upright_scale_has_two_numbers_that_stand_apart(most: float, tall: float) -> None:
    with style():
        _, (axes,) = panels("a panel", (tall,))
        axes.set_ylim(-most, most)
        ruler(axes, "left", "off by (g)")
        told = [text for text in axes.texts if text.get_text() != "off by (g)"]
        shown = [float(text.get_text().replace("\N{MINUS SIGN}", "-")) for text in told]
        assert len(set(shown)) == len(shown) >= 2
        assert all(-most <= each <= most for each in shown)
        lines = sorted(text.get_window_extent().y0 for text in told)
        high = max(text.get_window_extent().height for text in told)
        assert min(b - a for a, b in pairwise(lines)) > 0.9 * high

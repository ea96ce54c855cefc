"""A made-up review, of findings that the tests of the studies have; nothing is run for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

import ascent_findings
import plan_findings
import study_findings
import window_findings
from baypulse.case.casefile.shot_file import ShotRow
from baypulse.case.rocket import Rocket, RocketBay
from baypulse.observed.shot_log import LoggedShot, ShotLog
from baypulse.observed.sightings import sight
from baypulse.review.chapters import Asked, BayEntry, Chapter, Review
from baypulse.review.document import document
from baypulse.studies.ascent.document import document as of_ascent
from baypulse.studies.joints.document import document as of_joints
from baypulse.studies.plan.document import document as of_plan
from baypulse.studies.scatter.document import document as of_scatter
from baypulse.studies.window.document import document as of_window
from joints_findings import every as joints

FIRED = LoggedShot(
    ShotRow(saw=("separated", "pop"), date=date(2031, 5, 17)), 1.2e-3, 3,
    (sight("separated"), sight("pop")),
)  # fmt: skip
"""A shot with its day."""

MISSING = "cold: nothing is known of the ascent: add [ascent] to the case"


@cache
def made() -> Review:
    """Return the review of two bays, one of powder and one of a cold gas."""
    powder, gas = window_findings.usual(), window_findings.of_cold_gas()
    bays = tuple(
        RocketBay(name=name, case=each.case, plain=each.case, fore_drag_area=None)
        for name, each in (("main", powder), ("gas bay", gas))
    )
    rocket = Rocket(
        name="made-up", title="A rocket for the tests", note="Invented.", bays=bays, coast=None,
        source_text="title = 'A rocket for the tests'\n",
    )  # fmt: skip
    flight = next(iter(ascent_findings.TEXTS))
    chapters = (
        Chapter("window", "Charge windows",
                (BayEntry("main", of_window(powder)), BayEntry("gas bay", of_window(gas)))),
        Chapter("plan", "Ground-test plans", (BayEntry("main", of_plan(plan_findings.usual())),)),
        Chapter("joints", "Joints", (BayEntry("", of_joints(next(iter(joints().values())))),)),
        Chapter("ascent", "Ascent",
                (BayEntry("main", of_ascent(ascent_findings.found(flight))),
                 BayEntry("gas bay", MISSING))),
        Chapter("decides", "What decides",
                (BayEntry("main", of_scatter(study_findings.scatter(), kept=False)),)),
    )  # fmt: skip
    asked = Asked(0.99, (), None, 1, 1, lambda case: None, lambda case, progress: None)
    shots = {"main": ShotLog("", (FIRED, replace(FIRED, row=replace(FIRED.row, date=None))))}
    return Review(rocket, chapters, 2, asked, shots)


DOCUMENTS = {"review": lambda: document(made())}

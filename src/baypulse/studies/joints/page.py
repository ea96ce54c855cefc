"""The page of a rocket's joints: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts, versions
from baypulse.show.text import charge
from baypulse.studies.joints import text as words
from baypulse.studies.joints.data import rocket_fingerprint
from baypulse.studies.joints.result import BayOpening, Joints


def captions(joints: Joints) -> dict[str, str]:
    """Return what each figure shows, by its name."""
    found = {
        "rocket": "Full bars: the force put on slowly. Diamonds: as hard as the motion of the "
        "joint makes it. Hatched bars: with the factor assumed for a sudden load. The heavy mark "
        "is where pins and friction give."
    }
    for k, opening in enumerate(joints.openings):
        for j, jerk in enumerate(opening.jerks):
            found[f"jerk-{k + 1}-{k + j + 2}"] = (
                f"What the joint of the {jerk.joint} feels of the cord's load, and how far it "
                "moves under it: through friction, the pins' clearance and their give."
            )
    return found


def joints_page(joints: Joints, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    joints : Joints
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    rocket = joints.rocket
    shown = captions(joints)
    doubtful = [f"{bay.name}: {text}" for bay in rocket.bays for text in doubts(bay.case)]
    parts = [
        f"<h1>{escape(rocket.title)}</h1>",
        f'<p class="from">Rocket {escape(rocket.name)}. Bays in the order in which they fire: '
        f"{escape(', '.join(bay.name for bay in rocket.bays))}.</p>",
        f'<p class="note">{escape(rocket.note.strip())}</p>' if rocket.note.strip() else "",
        study_parts.box(words.headline(joints), words.meaning(joints)),
        f"<p>{escape(' '.join(words.computed(joints)))}</p>",
        study_parts.warnings(joints.warnings, doubtful),
        page.caution(),
        page.figure(figures, shown, "rocket"),
    ]
    for k, opening in enumerate(joints.openings):
        parts += _opening(joints, opening, k, figures, shown)
    if joints.drags:
        parts += [
            "<h2>Drag in coast</h2>",
            *(
                f"<p>{escape(sentence).replace('^3', '³')}</p>"
                for sentence in words.coast_sentences(joints)
            ),
            page.table(words.DRAG_HEAD, words.drag_rows(joints)),
        ]
    parts += ["<h2>What was read</h2>"]
    for bay in rocket.bays:
        parts += [f"<pre>{escape(explain(bay.case))}</pre>"]
    parts += [
        "<h2>What this does not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_STUDY)}</p>",
        page.caution(), _footer(joints),
    ]  # fmt: skip
    return page.skeleton(f"{rocket.name}: {words.headline(joints)}", parts)


def _opening(
    joints: Joints, opening: BayOpening, k: int, figures: dict[str, str], shown: dict[str, str]
) -> list[str]:
    """Return the part of the page about one opening."""
    parts = [
        f"<h2>The {escape(opening.name)} opens</h2>",
        f"<p>Charge: {escape(charge(opening.case))}.</p>",
    ]
    if not opening.jerks:
        return [*parts, f"<p>{escape(words.nothing_jerked(joints, opening))}</p>"]
    for j, jerk in enumerate(opening.jerks):
        parts += [
            page.figure(figures, shown, f"jerk-{k + 1}-{k + j + 2}"),
            *(f"<p>{escape(text)}</p>" for text in words.jerk_sentences(opening, jerk)),
            "<p><b>What would help</b>, each computed by a run in which nothing scatters:</p>",
            page.table(words.CHANGE_HEAD, words.change_rows(opening, jerk)),
        ]
    return parts


def _footer(joints: Joints) -> str:
    used = ", ".join(f"{name} {number}" for name, number in versions().items())
    return (
        f"<footer><p>Made with {escape(used)}. {joints.members:,} shots of each opening, seed "
        f"{joints.seed}; {joints.runs:,} runs. The same numbers are in numbers.json beside this "
        f"page.<br>SHA-256 of cases and version: {rocket_fingerprint(joints)}</p></footer>"
    )

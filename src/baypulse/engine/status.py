"""How a run ends."""

from __future__ import annotations

from enum import StrEnum


class Status(StrEnum):
    """How a run ended."""

    FINISHED = "finished"
    TIME_END = "end time"
    STALLED = "step too small"
    LOST = "not a number"
    RESTLESS = "too many events"

    @property
    def good(self) -> bool:
        """Whether it came to a proper end."""
        return self in (Status.FINISHED, Status.TIME_END)


MESSAGES = {
    Status.FINISHED: "The run came to its end: nothing of interest can follow.",
    Status.TIME_END: "The run reached its end time; raise run.end_time to see what follows.",
    Status.STALLED: "The solver had to stop early because its steps stayed too small to get "
    "on; what it has is kept. Look at the last event, and try a looser run.tolerance.",
    Status.LOST: "The solver had to stop early because the state became impossible; what it has is "
    "kept. Check the volumes and the charge.",
    Status.RESTLESS: "The solver had to stop early because the joint kept starting and stopping; "
    "what it has is kept. Check the friction.",
}
"""Each status as a sentence."""

MOST_EVENTS = 6_000
"""A nose that creeps against its pins slips and stops a thousand times a second."""

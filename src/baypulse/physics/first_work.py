"""What is done once, as soon as it is likely that the core will be asked for.

That is when something was run in plain Python that could be compiled, and when a case is begun. In
a module of its own, so that a program can say what before it loads anything of the core.
"""

from __future__ import annotations

from collections.abc import Callable

_action: Callable[[], object] | None = None


def at_first_work(action: Callable[[], object]) -> None:
    """Have something done, once."""
    global _action
    _action = action


def begin() -> None:
    """Do it, if it has not been done."""
    global _action
    action, _action = _action, None
    if action is not None:
        action()

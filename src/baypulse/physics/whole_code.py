"""Whether members are run by all of the code, or by what a first study can do with.

All of it takes twice as long to compile, and with it members cost three fifths. Both give the same
numbers to the bit, so that a process may change over whenever the whole is there.
"""

from __future__ import annotations

from baypulse.physics import first_work
from baypulse.physics.core_folder import WHOLE, config, is_kept

WORTH_COMPILING = 60_000
"""Members run one after the other, of a process in all, after which it compiles the whole itself:
what they would have cost less by then is what that takes."""

_whole = False
"""Whether the whole is compiled, or shall be when it is called."""

_alone = 0
"""Members that were run one after the other for want of it."""


def compile_whole() -> None:
    """Let all that is run from now on be run by the whole code; the next call compiles it."""
    global _whole
    _whole = True


def takes_whole(members: int) -> bool:
    """Say whether a call is run by the whole code.

    Parameters
    ----------
    members : int
        Which would be run side by side in the call.
    """
    global _alone
    if config.DISABLE_JIT:
        return False
    if _whole:
        return True
    if is_kept(WHOLE) or _alone > WORTH_COMPILING:
        compile_whole()
    elif members:
        _alone += members
        first_work.begin()
    return _whole

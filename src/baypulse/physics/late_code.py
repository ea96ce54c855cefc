"""Machine code that is made once, of a function together with all that it calls.

By itself numba optimises every function of the core and turns it into machine code, and does the
same with all that it calls once more; the innermost are made anew a dozen times. Here a function
that is called by another waits, as it was lowered, for the one that Python calls. The machine code
computes the same, and a first run takes less than half as long. Nothing else calls what has waited,
so that its arguments need not be handed over as numba does it: a fifth of a member's time.
"""

from __future__ import annotations

import gc
from collections.abc import Callable
from functools import partial
from typing import Any

from llvmlite import binding as llvm
from numba.core.codegen import JITCodeLibrary, JITCPUCodegen
from numba.core.environment import lookup_environment
from numba.core.registry import cpu_target
from numba.core.types import unliteral

ENVIRONMENT = "_ZN08NumbaEnv"
"""How the names begin under which code finds what it needs of Python."""


class LateLibrary(JITCodeLibrary):
    """The code of one function.

    Attributes
    ----------
    late : bool
        Whether it waits for what calls it: it cannot be called from Python.
    """

    late = False

    def get_pointer_to_function(self, name: str) -> int:
        """Return where a function is; 0 where there is none of that name.

        numba asks for the one by which Python calls as soon as a library is complete.
        """
        if not self._finalized and name not in {each.name for each in self._final_module.functions}:
            self._finalized = self.late = True
        return 0 if self.late else int(super().get_pointer_to_function(name))

    def _optimize_final_module(self) -> None:
        """Optimise what is linked, of which nothing else calls what waited."""
        waited = filter(waits, self._linking_libraries)
        within = {each.name for library in waited for each in library.get_defined_functions()}
        for each in self._final_module.functions:
            if each.name in within and not each.is_declaration:
                each.linkage = "internal"
        super()._optimize_final_module()

    def finalize(self) -> None:
        """Link all that is called, optimise, and make machine code."""
        self._linking_libraries = callers_first(self._linking_libraries)
        super().finalize()
        codegen: Any = self._codegen
        for each in self._final_module.global_variables:
            held = lookup_environment(each.name) if each.name.startswith(ENVIRONMENT) else None
            if held is not None:
                codegen.set_env(each.name, held)

    def serialize_using_object_code(self) -> tuple[str, str, tuple[bytes, bytes]]:
        """Return what is kept on disk: machine code, and the names that it defines.

        numba keeps the code from before that was made beside it, for others to link, and reads it
        at every start. Nothing links what Python calls.
        """
        name, kind, (code, within) = super().serialize_using_object_code()
        if any(map(waits, self._linking_libraries)):
            held = self._get_module_for_linking()
            defined = [*held.functions, *held.global_variables]
            names = (
                each.name for each in defined
                if not each.is_declaration and each.linkage.name != "internal"
            )  # fmt: skip
            text = "\n".join(f'@"{each}" = global i8 0' for each in names)
            within = llvm.parse_assembly(text).as_bitcode()
        return name, kind, (code, within)


def waits(library: Any) -> bool:
    """Say whether a library waits for what calls it: those of other packages may not."""
    return getattr(library, "late", False)


def callers_first(libraries: list[Any]) -> list[Any]:
    """Return libraries and all that they call, each before what it calls.

    LLVM takes of a library only what has been asked for.
    """
    ordered: list[Any] = []
    seen: set[Any] = set()

    def visit(library: Any) -> None:
        if library in seen:
            return
        seen.add(library)
        for called in library._linking_libraries if waits(library) else ():
            visit(called)
        ordered.append(library)

    for library in libraries:
        visit(library)
    return ordered[::-1]


class LateCodegen(JITCPUCodegen):
    """What makes libraries; functions of other packages are compiled by it as ever."""

    _library_class = LateLibrary

    def set_env(self, env_name: str, env: Any) -> None:
        """Tell code where what it needs of Python is, once there is machine code."""
        if self._engine.is_symbol_defined(env_name):
            super().set_env(env_name, env)


def join_calls(dispatcher: Any, within: Any) -> None:
    """Let compiled callers of a function take the form of it that waits for them.

    Parameters
    ----------
    dispatcher : numba dispatcher
        What Python calls.
    within : numba dispatcher
        Of the same function, compiled with ``no_cpython_wrapper=True``.
    """
    # numba has one maker of libraries a process, and no way to name another
    cpu_target.target_context.codegen().__class__ = LateCodegen
    dispatcher.compile = partial(_compile, dispatcher.compile)
    dispatcher.get_call_template = partial(_call_template, within)
    dispatcher.get_overload = within.get_overload


def _call_template(within: Any, arguments: Any, named: Any) -> Any:
    """Return how a function is called, which is one way whether or not a flag is a constant."""
    return within.get_call_template(tuple(map(unliteral, arguments)), named)


def _compile(compile_for: Callable[..., Any], *types: Any) -> Any:
    """Compile without looking for garbage: an eighth of the time, and there is little."""
    running = gc.isenabled()
    gc.disable()
    try:
        return compile_for(*types)
    finally:
        if running:
            gc.enable()

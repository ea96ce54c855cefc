"""The engine: state layout, right-hand side, events, phases, and the run itself."""

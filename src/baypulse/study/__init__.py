"""Studies of many members: spreads, chances, sensitivities, sweeps."""

"""One run of a case: the simulation, its result, the verdict, where the energy went."""

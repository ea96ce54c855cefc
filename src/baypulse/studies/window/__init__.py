"""The charge window: the least charge that opens a bay, the most that breaks nothing."""

"""One run of one charge: verdict, numbers, events, curves."""

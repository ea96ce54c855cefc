"""Why a shot went as it did: the chance of each cause, and the next test."""

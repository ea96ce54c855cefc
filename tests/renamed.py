"""Names of JSON, CSV and Parquet that were renamed, to compare old reports with new ones."""

RENAMED = {
    "limits_passed": "limits_exceeded",
    "a_limit_is_passed": "a_limit_is_exceeded",
    "limit_passed": "limit_exceeded",
    "limit_passed_too_often": "limit_exceeded_too_often",
    "chance_passed_": "chance_exceeded_",
    "passes_a_strength": "exceeds_a_strength",
    "passes_a_limit": "exceeds_a_limit",
    "passes_a_limit_ratio": "exceeds_a_limit_ratio",
    "links.passed": "exceeded",
    "passes": "successes",
    "passes.passed": "succeeded",
}
"""Old names and new; one that ends in "_" is how longer ones begin, one with a dot is that name
inside the old table of the first."""

"""Names of JSON, CSV and Parquet that were renamed, to compare old reports with new ones."""

from __future__ import annotations

RENAMED = {
    # a limit is exceeded, a test succeeds
    "a_limit_is_passed": "a_limit_is_exceeded",
    "chance_a_limit_is_passed_": "chance_a_limit_is_exceeded_",
    "chance_passed_": "chance_exceeded_",
    "limit_passed": "limit_exceeded",
    "limit_passed_too_often": "limit_exceeded_too_often",
    "limits_passed": "limits_exceeded",
    "links.passed": "exceeded",
    "passes": "successes",
    "passes.passed": "succeeded",
    "passes_a_limit_": "exceeds_a_limit_",
    "passes_a_strength": "exceeds_a_strength",
    # a bay separates, its parachute comes out
    "chance_opens_": "chance_separates_",
    "chance_opens_hard_": "chance_separates_too_hard_",
    "contents": "parachute",
    "contents_out": "parachute_out",
    "contents_stay_in": "parachute_stays_in",
    "joint_opens_": "joint_separates_",
    "opened": "separated",
    "opening_curve": "separation_curve",
    "opens": "separates",
    "opens_": "separates_",
    "opens_and_lets_go": "separates_with_parachute_out",
    "opens_window": "opens_window",
    "terms_J.contents": "contents",
    "travel_if_not_open_": "travel_without_separation_",
    # keys of a case
    "contents.drag_out": "contents.extraction_force",
    "drag_out_force_": "pack_friction_",
    "powder.burnt_ceiling": "powder.burnable_fraction",
    # simulated shots
    "builds": "simulated_shots",
    "effective_builds": "effective_simulated_shots",
    "effective_members": "effective_simulated_shots",
    "members": "simulated_shots",
    "members_": "simulated_shots_",
    "pair_members": "pair_simulated_shots",
    # the rest
    "bridge": "breakdown",
    "charge_at_home": "charge_at_test_site",
    "holds_at_home": "holds_at_test_site",
    "margin_at_home_ratio": "margin_at_test_site_ratio",
    "rebound": "velocity_after_jerk",
    "rebound_velocity": "velocity_after_jerk",
    "rebound_velocity_": "velocity_after_jerk_",
    "wanted_ratio": "reliability_ratio",
    "wanted_share_ratio": "reliability_ratio",
    "way_up": "ascent",
    "way_up_curve": "ascent_curve",
    "way_up_curve_with_gap_open": "ascent_curve_with_gap_open",
}
"""Old names and new. One that ends in "_" is how longer ones begin; of "table.name" the first part
is the old name of what holds it."""


def new_name(old: str, within: str = "") -> str:
    """Return what a name of an old report is now.

    Parameters
    ----------
    old : str
        The name.
    within : str
        Old name of the table, or list of tables, that holds it.
    """
    for whole in (f"{within}.{old}", old):
        if whole in RENAMED:
            return RENAMED[whole]
    begun = max((each for each in RENAMED if each[-1] == "_" and old.startswith(each)), key=len,
                default="")  # fmt: skip
    return RENAMED.get(begun, "") + old.removeprefix(begun)

"""What is known of how well warning signs work, for every place where a sign is spoken of."""

SIGN_EVIDENCE = (
    "Permanent wildlife signs work poorly: trials of standing deer signs, even lighted ones, found no"
    " fewer deer killed (Pojar et al. 1975; Meyer 2006), because drivers get used to them. Signs set "
    "up only in the weeks of movement did better for mule deer (Sullivan et al. 2004; all from "
    "memory). For turtles no trial is known here, so no saving is claimed: the effect of a sign is "
    "unknown. A fence with a passage is the stronger measure."
)
"""pojar1975, meyer2006, sullivan2004."""

SIGN_EVIDENCE_SHORT = (
    "Permanent wildlife signs work poorly: standing deer signs, even lighted ones, did not lower the deer killed "
    "(Pojar et al. 1975; Meyer 2006, from memory); for turtles no trial is known here."
)
"""The same for a sheet of paper; pojar1975, meyer2006."""

"""Marks that mislead beginners, each with the account that warns of it (keys of sources.toml)."""

import pytest

from roadwatch.identify.evidence import answers_of
from roadwatch.identify.naming import honest_name
from roadwatch.identify.posterior import posterior


@pytest.fixture
def after(tables):
    """Probabilities by code after something was seen by an expert with the animal in hand."""

    def make(region, **seen):
        evidence = answers_of(seen, tables, view="in_hand", skill="expert")
        p = posterior(evidence, tables.matrix, prior=tables.prior(region))[0]
        codes = {taxon: tables.tree.taxonomy.taxa[taxon].code for taxon in tables.taxa[:-1]}
        return {codes[taxon]: float(share) for taxon, share in zip(tables.taxa[:-1], p[:-1], strict=True)}

    return make


def ratio(p, one, other):
    return p[one] / p[other]


def test_the_arrow_on_the_snout_does_not_prove_a_red_belly_but_cusps_do_more(after):  # eab
    arrow = ratio(after(None, head_top="prefrontal_arrow"), "PNE", "TSS")
    cusps = ratio(after(None, upper_jaw="notch_with_cusps"), "PNE", "TSS")
    assert arrow < 2
    assert cusps > 5 * arrow


def test_painted_turtles_have_cusps_too(after):  # eab
    p = after("NC_VA_tidewater", upper_jaw="notch_with_cusps")
    assert p["CPI"] > p["PRU"]  # both show them; the painted turtle is the more common there


def test_a_c_mark_is_also_a_map_turtles_and_old_river_cooters_lose_it(after, tables):  # srel
    p = after("AL_Mobile_delta", carapace_pattern="c_mark_whorls")
    assert p["GRA"] > 0.1
    plain = after(None, carapace_pattern="plain_dark")
    assert ratio(plain, "PCO", "PPE") > 0.5


def test_smudges_under_the_rim_do_not_mean_slider(after):  # seidel1998
    p = after("FL_peninsula", marginal_underside="solid_smudges")
    assert p["PPE"] > p["TSS"]


def test_a_pale_belly_does_not_exclude_an_old_red_bellied_cooter(after, tables):  # secondary
    colours = tables.matrix.by_taxon("plastron_colour")[tables.taxa.index("Pseudemys nelsoni")]
    yellow = tables.characters["plastron_colour"].index["yellow_cream"]
    assert colours[yellow] > 0.2
    p = after("FL_peninsula", plastron_colour="yellow_cream", upper_jaw="notch_with_cusps", marginal_top_red="present")
    assert p["PNE"] == max(p.values())


def test_blotch_and_pattern_vanish_together_in_old_males(after):  # eab, nas
    both = after(None, head_side="plain_or_mottled", carapace_pattern="plain_dark")
    head, shell = after(None, head_side="plain_or_mottled"), after(None, carapace_pattern="plain_dark")
    # against a tortoise, which always shows both: together they count less against the slider than one after the other
    separately = ratio(head, "TSS", "GPO") * ratio(shell, "TSS", "GPO")
    assert ratio(both, "TSS", "GPO") > 1.3 * separately


def test_striped_mud_turtles_without_stripes_keep_the_line_to_the_nostril(after):  # srel, scparc
    p = after(
        "SC_GA_coastal_plain", hinge="two", pectoral_shape="triangular", carapace_length_stripes="none",
        nostril_eye_stripe="present",
    )  # fmt: skip
    assert p["KBA"] > 0.8 > p["KSU"]


def test_a_musk_turtle_without_head_stripes_is_still_one(after):  # eab
    p = after(
        "FL_peninsula", head_side="plain_or_mottled", barbels="chin_and_throat", plastron_size="reduced", hinge="one"
    )
    assert p["SOD"] > 0.8


def test_a_river_cooter_may_have_short_cusps_and_no_figure(after):  # eab
    p = after(
        "NC_SC_GA_piedmont", upper_jaw="notch_with_cusps", plastron_pattern="none", carapace_pattern="c_mark_whorls",
        lower_jaw="flat_below",
    )  # fmt: skip
    assert p["PCO"] == max(p.values())


def test_upright_rump_stripes_are_a_sliders_too_and_the_wide_leg_stripe_tells_the_chicken_turtle(after):  # srel, eab
    rump = after("SC_GA_coastal_plain", rump="vertical_stripes")
    assert rump["TSS"] > rump["DRE"]
    leg = after("SC_GA_coastal_plain", rump="vertical_stripes", foreleg="one_wide_stripe", neck="very_long")
    assert leg["DRE"] > 0.8


def test_both_colours_on_one_cheek_are_an_intergrade_and_no_doubt_between_two(after, tables):
    # both present is a state of its own: reading it as a doubt names one parent instead
    where = "AL_Mobile_delta"
    both = after(where, head_side="red_patch+big_yellow_blotch")
    doubt = after(where, head_side="red_patch|big_yellow_blotch")
    assert both["TSX"] == max(both.values())
    assert doubt["TSX"] < max(doubt["TSS"], doubt["TSE"])
    smudged = answers_of(
        {"head_side": "yellow_red_mixed", "plastron_pattern": "front_smudges", "lower_jaw": "rounded_below"},
        tables, view="in_hand", skill="expert",
    )  # fmt: skip
    p = posterior(smudged, tables.matrix, prior=tables.prior(where))[0]
    assert honest_name(p, tables).scientific_name == "Trachemys scripta"

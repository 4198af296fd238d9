"""``identify`` at the terminal: one shot, JSON, and the conversation."""

import json
from math import log2

import pytest
from click.testing import CliRunner

from roadwatch.cli import main
from roadwatch.cli.conversation import Conversation
from roadwatch.identify.cautions import BITES, HANDS, INJURED, LAW, MOVE, TRAFFIC
from roadwatch.identify.one_animal import Place
from roadwatch.identify.tables import identify_tables


def run(*args):
    return CliRunner().invoke(main, ["identify", *map(str, args)])


def found(*args):
    result = run(*args, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


COOTER = ("--view", "in-hand", "--region", "FL_peninsula", "--skill", "trained", "--see", "head_side=thin_stripes_only")


def test_json_has_the_promised_shape():
    answer = found(*COOTER)
    assert all(set(row) == {"taxon", "p"} for row in answer["taxa"])
    assert sum(row["p"] for row in answer["taxa"]) == pytest.approx(1.0)
    assert [row["p"] for row in answer["taxa"]] == sorted((row["p"] for row in answer["taxa"]), reverse=True)
    assert set(answer["name"]) == {"written", "rank", "qualifier", "p"}
    assert 0 < len(answer["next"]) <= 3
    assert all(set(row) == {"character", "bits"} and 0 < row["bits"] < log2(30) for row in answer["next"])
    assert isinstance(answer["prior_driven"], bool)
    assert answer["tables_version"] == identify_tables().version


def test_evidence_changes_the_name():
    red_bellied = found(*COOTER, "--see", "upper_jaw=notch_with_cusps", "--see", "plastron_colour=orange_red_pink")
    assert red_bellied["name"]["written"] == "Pseudemys nelsoni"
    assert red_bellied["name"]["p"] >= 0.8


def test_a_doubt_and_both_at_once_are_two_things():
    # a doubt is written a|b; the same character twice, or a+b, says that both were there
    where = ("--view", "in-hand", "--region", "AL_Mobile_delta", "--skill", "expert")
    doubt = found(*where, "--see", "head_side=big_yellow_blotch|red_patch")
    both = found(*where, "--see", "head_side=big_yellow_blotch", "--see", "head_side=red_patch")
    joined = found(*where, "--see", "head_side=big_yellow_blotch+red_patch")
    assert both["taxa"] == joined["taxa"]
    assert both["taxa"][0]["taxon"] == "Trachemys scripta scripta x elegans" != doubt["taxa"][0]["taxon"]


def test_not_seen_changes_nothing():
    assert found(*COOTER, "--see", "keel=not_seen")["taxa"] == found(*COOTER)["taxa"]


def test_underscores_do_as_well_as_hyphens():
    assert found("--view", "in_hand", "--see", "keel=none") == found("--view", "in-hand", "--see", "keel=none")


def test_nothing_seen_leaves_the_county_and_asks():
    answer = found("--view", "from-above", "--region", "FL_peninsula")
    assert answer["taxa"][0]["p"] == pytest.approx(0.138, abs=0.001)  # the share of a common taxon in the table
    assert len(answer["next"]) == 3


def test_from_a_car_only_what_can_be_seen_from_there_is_asked_and_looks_are_less_sure():
    see = ("--region", "FL_peninsula", "--see", "shell_cover=leathery")
    car, above = found("--view", "from-car", *see), found("--view", "from-above", *see)
    assert car["taxa"][0]["p"] < above["taxa"][0]["p"]
    characters = identify_tables().characters
    assert all(characters[row["character"]].certainty["from_car"] > 0 for row in car["next"])


def test_a_carcass_is_asked_about_its_head_only_where_it_has_one():
    see = ("--view", "carcass", "--region", "FL_peninsula", "--see", "scl_mm=m230_319", "--see", "keel=none")
    characters = identify_tables().characters
    without = [characters[row["character"]].needs_head for row in found(*see)["next"]]
    with_head = [characters[row["character"]].needs_head for row in found(*see, "--with-head")["next"]]
    assert not any(without)
    assert any(with_head)


def test_a_date_brings_the_season_in():
    place = ("--view", "from-above", "--region", "SC_GA_coastal_plain")
    share = {
        day: next(row["p"] for row in found(*place, "--date", day)["taxa"] if row["taxon"] == "Deirochelys reticularia")
        for day in ("2025-06-01", "2025-10-01")
    }
    assert share["2025-10-01"] > share["2025-06-01"]


def test_a_listed_taxon_asks_for_a_second_person():
    answer = found("--view", "in-hand", "--region", "FL_Suwannee", "--see", "carapace_outline=tall_round_dome")
    assert "Terrapene carolina" in answer["second_person"]
    assert any("let a second person name it" in note for note in answer["notes"])


def test_the_table_names_the_answer_the_questions_and_what_to_mind():
    result = run(*COOTER, "--see", "scl_mm=m230_319")
    assert result.exit_code == 0
    assert "Can be written: Pseudemys sp. (probability 0.9" in result.output
    assert "What is on top of the head and snout?" in result.output
    cautions = result.output.split("Mind:")[1]
    positions = [cautions.index(words) for words in (TRAFFIC, MOVE, HANDS, INJURED, LAW)]
    assert positions == sorted(positions)


def test_biting_species_are_warned_of_and_carcasses_are_not_moved():
    snapper = found("--view", "from-above", "--see", "tail=long_saw_toothed", "--see", "keel=three_keels")
    assert BITES in snapper["cautions"]
    assert snapper["cautions"][0] == TRAFFIC
    tortoise = found(
        *("--view", "from-above", "--skill", "expert", "--see", "feet=stumpy_or_shovel"),
        *("--see", "carapace_outline=oblong_tortoise", "--see", "head_side=plain_or_mottled"),
    )
    assert BITES not in tortoise["cautions"]
    assert MOVE not in found("--view", "carcass", "--see", "keel=none")["cautions"]


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("--see", "keel=none"), "say from where it was seen: --view"),
        (("--view", "moon"), "'moon' is not one of"),
        (("--view", "in-hand", "--see", "keel"), "write CHARACTER=STATE"),
        (("--view", "in-hand", "--see", "kel=none"), "character 'kel' is not in the tables"),
        (("--view", "in-hand", "--see", "keel=wavy"), "'wavy' is not one of its states; expected one of none"),
        (("--view", "from-car", "--see", "hinge=two"), "hinge cannot be seen from car; expected view in_hand"),
        (("--view", "in-hand", "--region", "Atlantis"), "region 'Atlantis' is not in the tables; expected one of FL_"),
        (("--view", "in-hand", "--habitat", "moon"), "habitat 'moon' has no factors"),
        (("--view", "in-hand", "--skill", "wizard"), "skill 'wizard' is not in the tables; expected one of novice"),
        (("--view", "in-hand", "--date", "soon"), "'soon' is not a day"),
    ],
)
def test_a_wrong_call_is_one_line_with_its_cure(args, words):
    result = run(*args)
    assert result.exit_code == 2
    assert words in result.output
    assert "Traceback" not in result.output


def test_a_coordinators_tables_count_and_their_faults_are_told(tmp_path):
    good, bad = tmp_path / "good", tmp_path / "bad"
    good.mkdir()
    bad.mkdir()
    (good / "priors.csv").write_text(
        "region,taxon,weight_class,prior,source\nInvented_county,Apalone ferox,common,,judgement\n"
    )
    answer = found("--view", "in-hand", "--region", "Invented_county", "--tables", good)
    assert answer["taxa"][0]["taxon"] == "Apalone ferox"
    (bad / "skills.csv").write_text("skill,slip,source\nnovice,much,judgement\n")
    result = run("--view", "in-hand", "--tables", bad)
    assert result.exit_code == 4
    assert "skills.csv, line 2: slip 'much' is no number" in result.output


def talk(*answers, view=None, stage=None, capsys=None):
    """Let a person give these answers; the result and what was asked of them."""
    given = iter(answers)
    conversation = Conversation(
        identify_tables(), Place("FL_peninsula"), skill="trained", threshold=0.8, ask=lambda _: next(given)
    )
    result = conversation.run(view, stage)
    return result, capsys.readouterr().out


def test_the_conversation_starts_with_traffic_and_plain_words(capsys):
    result, shown = talk("2", "1", "s", capsys=capsys)
    assert shown.startswith(TRAFFIC)
    assert "2  from above" in shown
    assert "What is the shape of the shell" in shown
    assert "Stopped." in shown
    assert result.ranking[0][1] == pytest.approx(0.138, abs=0.001)


def test_the_conversation_can_be_stopped_at_once(capsys):
    result, _ = talk("s", capsys=capsys)
    assert result.name.written == "Testudines indet."


def test_back_takes_an_answer_away(capsys):
    kept, _ = talk("6", "s", view="from-above", stage="adult", capsys=capsys)
    back, shown = talk("1", "b", "6", "s", view="from-above", stage="adult", capsys=capsys)
    assert back.ranking == kept.ranking
    assert "Back to the question before." in shown


def test_cannot_see_asks_something_else_and_says_nothing(capsys):
    blind, shown = talk("0", "0", "0", "s", view="from-above", stage="adult", capsys=capsys)
    nothing, _ = talk("s", view="from-above", stage="adult", capsys=capsys)
    assert blind.ranking == nothing.ranking
    asked = [line for line in shown.splitlines() if line.endswith("?")]
    assert len(asked) == len(set(asked)) == 4


def test_two_numbers_are_a_doubt_between_them(capsys):
    doubt, _ = talk("1 2", "s", view="from-above", stage="adult", capsys=capsys)
    sure, _ = talk("1", "s", view="from-above", stage="adult", capsys=capsys)
    assert doubt.ranking != sure.ranking


def test_a_key_that_is_none_is_asked_again(capsys):
    _, shown = talk("x", "99", "1", "s", view="from-above", stage="adult", capsys=capsys)
    assert "'x' is none of these; type numbers from 1 to 9, 0, b or s" in shown
    assert "'99' is none of these" in shown


def test_a_carcass_is_first_asked_for_its_head(capsys):
    _, shown = talk("4", "1", "2", "s", capsys=capsys)
    assert "Is the head still there?" in shown


def test_the_conversation_ends_by_itself_when_the_answer_stands(capsys):
    # a softshell: pancake outline, then whatever is asked answered as that animal shows it
    tables = identify_tables()
    ferox = tables.taxa.index("Apalone ferox")

    class Softshell(Conversation):
        def _answer(self, character):
            return character.states[int(tables.matrix.by_taxon(character.key)[ferox].argmax())].key

    def never(_):
        pytest.fail("a question was put to the person")

    talked = Softshell(tables, Place("FL_peninsula"), skill="expert", threshold=0.8, ask=never)
    assert talked.run("in-hand", "adult").name.written == "Apalone ferox"
    assert "Stopped." not in capsys.readouterr().out

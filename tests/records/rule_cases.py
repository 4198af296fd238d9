"""For every rule: a row that breaks it and a sound row that comes close; all of it invented."""

from records.record_cases import context, typed

from roadwatch.records.checks import rules_of
from roadwatch.records.complaints import held_rows
from roadwatch.records.rules import complaints_of


def rule_named(sentence, kind):
    """The one rule of a kind with this sentence."""
    found = [one for one in rules_of(kind) if one.sentence == sentence]
    assert len(found) == 1, sentence
    return found[0]


def breaks(sentence, kind, change, **surroundings):
    """Whether a row with this change breaks the rule, asked beside a sound row that must not."""
    complaints = complaints_of(rule_named(sentence, kind), typed(kind, {}, change), context(**surroundings))
    assert all(complaint.row == 1 for complaint in complaints), "the sound row broke the rule"
    return bool(complaints)


def holds_back(sentence, kind, change, **surroundings):
    """Whether a row with this change is held back by the rule."""
    return bool(held_rows(complaints_of(rule_named(sentence, kind), typed(kind, change), context(**surroundings))))

/* From marks to the probability of each taxon: Bayes' rule with a discount for marks that go together (Kish's design effect). */

const TABLES = DATA.identification;
const RULES = TABLES.conventions;
const CHARACTERS = new Map(TABLES.characters.map((character) => [character.key, character]));
const YOUNG = ["hatchling", "juvenile"];

/** Positions of the states that an answer allows; none where it says nothing. "a|b" is a doubt between two. */
function readAnswer(character, written) {
  const text = (written || "").trim();
  if (!text || text === "not_seen") return [];
  const found = new Set(text.split("|").map((part) => statePosition(character, part.trim())));
  if (found.has(-1) || found.size === character.states.length) return [];
  return [...found].sort((a, b) => a - b);
}

function statePosition(character, part) {
  if (part === "looked_absent") return character.states.findIndex((state) => state.absent);
  return character.states.findIndex((state) => state.key === part);
}

/** Whether a view can show a character; a carcass shows what needs a head only where it has one. */
function canShow(character, view, headPresent) {
  if (view === "carcass" && character.needs_head) return headPresent;
  return !view || character.certainty[view] > 0;
}

/** How sure a reported look is; where the view is not known it is taken as in hand. */
function certaintyOfLook(character, view) {
  return !view || (view === "carcass" && character.needs_head) ? character.certainty.in_hand : character.certainty[view];
}

/** Size says nothing of young animals. */
const tells = (character, lifeStage) => character.key !== TABLES.size || !YOUNG.includes(lifeStage);

const canSee = (character, look) => canShow(character, look.view, look.head) && tells(character, look.lifeStage);

/** Share of looks that go wrong: by skill, more for young animals, more where the look is not sure. */
function slipOf(character, look) {
  const ofSkill = TABLES.slips[look.skill] ?? TABLES.slips.novice;
  const slip = YOUNG.includes(look.lifeStage) ? Math.max(ofSkill, RULES.young_slip) : ofSkill;
  return 1 - (1 - slip) * certaintyOfLook(character, look.view);
}

/** The answers that count in this look; a measured shell answers the size where nobody else did. */
function evidenceOf(seen, look) {
  const told = {...seen};
  if (look.carapaceMm && !told[TABLES.size]) told[TABLES.size] = sizeState(look.carapaceMm);
  return TABLES.characters
    .filter((character) => told[character.key] && canShow(character, look.view, true) && tells(character, look.lifeStage))
    .map((character) => ({character, states: readAnswer(character, told[character.key]), slip: slipOf(character, look)}))
    .filter((answer) => answer.states.length);
}

function sizeState(lengthMm) {
  const states = CHARACTERS.get(TABLES.size)?.states || [];
  const place = TABLES.size_from_mm.filter((from) => from <= Math.max(lengthMm, 1)).length - 1;
  return states[place]?.key;
}

/** Probability that one of these states is reported of a form. */
function likelihood(character, form, states, slip) {
  const shares = character.rows[character.of_form[form]];
  const reported = states.reduce((sum, state) => sum + shares[state], 0);
  return Math.max((1 - slip) * reported + (slip * states.length) / shares.length, RULES.least_likelihood);
}

/** Probability of each form of each taxon; adds to 1. */
function formPosterior(evidence, prior) {
  const inGroup = new Map();
  for (const {character} of evidence) inGroup.set(character.group, (inGroup.get(character.group) || 0) + 1);
  const scores = TABLES.form_taxon.map((taxon, form) => Math.log(prior[taxon] * TABLES.form_share[form]));
  for (const {character, states, slip} of evidence) {
    const weight = 1 / (1 + RULES.rho * (inGroup.get(character.group) - 1));
    const byRow = character.rows.map(() => null);
    scores.forEach((score, form) => {
      const row = character.of_form[form];
      byRow[row] ??= weight * Math.log(likelihood(character, form, states, slip));
      scores[form] = score + byRow[row];
    });
  }
  const highest = Math.max(...scores);
  const weights = scores.map((score) => Math.exp(score - highest));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => weight / total);
}

/** Sums over the forms of each taxon. */
function byTaxon(byForm) {
  const sums = TABLES.taxa.map(() => 0);
  byForm.forEach((share, form) => { sums[TABLES.form_taxon[form]] += share; });
  return sums;
}

const posterior = (evidence, prior) => byTaxon(formPosterior(evidence, prior));

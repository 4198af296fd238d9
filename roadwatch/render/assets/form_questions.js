/* What to look at next: the mark that should tell most among those that can be seen from here (Lindley's information). */

const entropyBits = (p) => p.reduce((sum, share) => (share > 0 ? sum - share * Math.log2(share) : sum), 0);

/** Information on the taxon expected from a report: doubt before less mean doubt after, in bits. */
function gainOf(byForm, reports) {
  const n = reports[0].length;
  const joint = TABLES.taxa.map(() => new Array(n).fill(0));
  byForm.forEach((share, form) => {
    const row = joint[TABLES.form_taxon[form]];
    reports[form].forEach((report, state) => { row[state] += share * report; });
  });
  const ofReport = joint[0].map((_, state) => joint.reduce((sum, row) => sum + row[state], 0));
  const before = entropyBits(joint.map((row) => row.reduce((sum, share) => sum + share, 0)));
  const after = ofReport.reduce((sum, share, state) =>
    sum + share * entropyBits(joint.map((row) => row[state] / (share > 0 ? share : 1))), 0);
  return before - after;
}

/** At most three marks worth a look, the most telling first; none once the answer would not change. */
function nextQuestions(evidence, prior, look, skip) {
  const byForm = formPosterior(evidence, prior);
  const name = honestName(byTaxon(byForm));
  const isSettled = (["species", "subspecies"].includes(name.rank) || TABLES.taxa.includes(name.taxon)) && !name.compared;
  const answered = new Set([...evidence.map((answer) => answer.character.key), ...skip]);
  const questions = [];
  for (const character of TABLES.characters) {
    if (answered.has(character.key) || !canSee(character, look)) continue;
    const slip = slipOf(character, look);
    const reports = byForm.map((_, form) => character.states.map((_, state) => likelihood(character, form, [state], slip)));
    const bits = gainOf(byForm, reports);
    if (bits < RULES.least_bits) continue;
    const pChange = chanceOfChange(evidence, prior, {character, slip}, name.written, byForm, reports);
    if (!isSettled || pChange >= RULES.least_change) questions.push({character, bits, pChange});
  }
  return questions.sort((a, b) => b.bits - a.bits).slice(0, RULES.most_questions);
}

function chanceOfChange(evidence, prior, asked, written, byForm, reports) {
  return asked.character.states.reduce((sum, _, state) => {
    const after = posterior([...evidence, {...asked, states: [state]}], prior);
    if (honestName(after).written === written) return sum;
    return sum + byForm.reduce((part, share, form) => part + share * reports[form][state], 0);
  }, 0);
}

/**
 * Weigh what was seen of one animal.
 * look: view, skill, lifeStage, head, carapaceMm; month "01" to "12" or ""; skip: characters not to ask about again.
 */
function identifyAnimal(seen, look, month, skip = []) {
  const evidence = evidenceOf(seen, look);
  const prior = TABLES.priors[month] || TABLES.priors[""];
  const p = posterior(evidence, prior);
  const name = honestName(p);
  const flat = honestName(posterior(evidence, TABLES.flat_prior));
  const bites = p.reduce((sum, share, place) => (TABLES.bites[place] ? sum + share : sum), 0);
  return {
    p,
    name,
    questions: nextQuestions(evidence, prior, look, skip),
    priorDriven: flat.written !== name.written,
    second: TABLES.taxa.filter((_, place) => TABLES.ask_second[place] && p[place] >= RULES.ask_from),
    ranking: TABLES.taxa.map((taxon, place) => [taxon, p[place]]).sort((a, b) => b[1] - a[1]),
    mayBite: look.view !== "carcass" && bites >= RULES.bites_from,
    nAnswers: evidence.length,
  };
}

/* Guided identification: one look after the other, until the name would not change or the person has seen enough. */

const SHOWN_FROM = 0.02;
const MOST_SHOWN = 4;

/** What was seen, as identifyAnimal wants it. */
function lookOf(draft) {
  const {values} = draft;
  return {
    view: values.view || null, skill: values.observer_skill || "novice", lifeStage: values.life_stage || null,
    head: Boolean(draft.head), carapaceMm: Number(values.carapace_mm) || null,
  };
}

const monthOf = (draft) => (draft.values.observed_at || draft.values.found_at || "").slice(5, 7);

/** What the marks of a draft say now; a mark that could not be seen is not asked again. */
function identified(draft) {
  return identifyAnimal(draft.seen, lookOf(draft), monthOf(draft), draft.asked);
}

/** The views that fit the animal's condition. */
function viewsFor(values) {
  if (values.condition === "dead") return ["carcass", "from_above", "from_car"];
  if (["alive", "injured"].includes(values.condition)) return ["from_above", "in_hand", "from_car"];
  return ["from_above", "in_hand", "from_car", "carcass"];
}

function identifyScreen(main) {
  const draft = STATE.draft;
  draft.asked ||= [];
  const found = identified(draft);
  main.append(make("h1", {tabindex: "-1"}, say("identify_title")), caution(say("identify_traffic")));
  const step = openStep(draft, found);
  main.append(step || make("p", {class: "done"}, say("identify_done")), standing(draft, found));
  main.append(actions(button("identify_finish", () => show(draft.kind), {kind: "primary"}), button("back", () => stepBack(draft))));
}

/** The question that stands open: view, stage of life, head, then the mark that tells most; null where none does. */
function openStep(draft, found) {
  const {values} = draft;
  if (!values.view) return plainStep("ask_view", viewsFor(values).map((view) => [view, say(`choice/view/${view}`)]), (view) => { values.view = view; });
  if (!draft.stageAsked) {
    const stages = ["adult", "juvenile", "hatchling"].map((stage) => [stage, sayChoice("life_stage", stage)]);
    return plainStep("ask_stage", [...stages, ["", say("cannot_tell")]], (stage) => { values.life_stage = stage; draft.stageAsked = true; });
  }
  if (values.view === "carcass" && draft.head === undefined) {
    return plainStep("ask_head", [["yes", say("yes")], ["", say("no")]], (head) => { draft.head = Boolean(head); });
  }
  const next = found.questions[0];
  return next ? markStep(draft, next.character) : null;
}

function plainStep(key, options, choose) {
  const buttons = options.map(([value, words]) => make("button", {
    type: "button", class: "answer", onclick: () => { choose(value); keepDraft(); show("identify"); },
  }, words));
  return make("section", {class: "question"}, make("h2", {}, say(key)), make("div", {class: "answers"}, buttons));
}

/** One mark to look at: a tap answers; who hesitates marks several. */
function markStep(draft, character) {
  const chosen = new Set();
  let isUnsure = false;
  const answer = (written) => {
    draft.seen[character.key] = written;
    draft.asked.push(character.key);
    keepDraft();
    show("identify");
  };
  const next = make("button", {type: "button", class: "primary", hidden: true, disabled: true, onclick: () => answer([...chosen].join("|"))}, say("unsure_next"));
  const states = character.states.map((state) => {
    const one = tableText("button", `state/${character.key}/${state.key}`, state.words, {type: "button", class: "answer", "data-state": state.key});
    one.addEventListener("click", () => {
      if (!isUnsure) { answer(state.key); return; }
      if (!chosen.delete(state.key)) chosen.add(state.key);
      one.setAttribute("aria-pressed", String(chosen.has(state.key)));
      next.disabled = chosen.size === 0;
    });
    return one;
  });
  const hesitate = button("unsure", () => {
    isUnsure = !isUnsure;
    hesitate.setAttribute("aria-pressed", String(isUnsure));
    states.forEach((one) => (isUnsure ? one.setAttribute("aria-pressed", "false") : one.removeAttribute("aria-pressed")));
    chosen.clear();
    next.hidden = !isUnsure;
    next.disabled = true;
  }, {"aria-pressed": "false"});
  return make("section", {class: "question", "data-character": character.key},
    tableText("h2", `question/${character.key}`, character.question),
    character.safety ? caution(tableText("span", `safety/${character.key}`, character.safety)) : null,
    make("div", {class: "answers"}, states, next),
    make("div", {class: "row"}, button("cannot_see", () => answer("not_seen")), hesitate),
    character.mistaken_for ? make("p", {class: "hint"}, tableText("span", `mistaken/${character.key}`, character.mistaken_for)) : null);
}

/** Take back the last answer, or leave where there is none. */
function stepBack(draft) {
  if (draft.asked.length) delete draft.seen[draft.asked.pop()];
  else if (draft.head !== undefined) delete draft.head;
  else if (draft.stageAsked) draft.stageAsked = false;
  else if (draft.values.view) draft.values.view = "";
  else { show(draft.kind); return; }
  keepDraft();
  show("identify");
}

const percent = (p) => (p > 0 && p < 0.01 ? "< 1 %" : p > 0.99 && p < 1 ? "> 99 %" : `${Math.round(100 * p)} %`);

/** What the marks say so far: the name that can be written, how sure, what else it may be. */
function standing(draft, found) {
  const {name} = found;
  const compared = name.compared ? say("name_compared", {p: percent(name.pCompared), name: name.compared}) : "";
  const bars = found.ranking.filter(([, p]) => p >= SHOWN_FROM).slice(0, MOST_SHOWN).map(([taxon, p]) =>
    make("li", {}, make("span", {lang: "en"}, TREE.english[taxon] || taxon), make("meter", {min: 0, max: 1, value: p, "aria-label": TREE.english[taxon] || taxon}), make("span", {class: "number"}, percent(p))));
  return make("section", {class: "standing", "aria-live": "polite"},
    make("h2", {}, say(found.nAnswers ? "standing_title" : "standing_before")),
    make("p", {class: "written"}, make("strong", {lang: "la"}, name.written), " ", make("span", {lang: "en"}, TREE.english[name.taxon] || "")),
    make("p", {}, say("name_sure", {p: percent(name.p)}), compared ? ` ${compared}` : ""),
    make("ul", {class: "bars"}, bars),
    found.priorDriven ? make("p", {class: "hint"}, say("prior_driven")) : null,
    found.second.length ? caution(say("second_person", {taxa: found.second.join(", ")})) : null,
    found.mayBite ? caution(say("caution_bites")) : null);
}

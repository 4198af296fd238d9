/* A visit to a nest: from today's round, a nest of this phone, or by its name. */

const COUNTS = ["hatchlings_live", "hatchlings_dead", "eggs_unhatched"];

function checksScreen(main) {
  const draft = STATE.draft;
  const {values} = draft;
  main.append(make("h1", {tabindex: "-1"}, say("check_title")), caution(say("traffic_short")));
  if (!values.nest_id) {
    main.append(...nestChoice(draft));
    return;
  }
  main.append(
    make("p", {class: "reading"}, make("span", {}, say("check_of")), make("strong", {}, draft.nestLabel || values.nest_id)),
    button("check_other", () => { values.nest_id = ""; keepDraft(); show("checks"); }),
    caution(say("caution_nest")),
    part("part_outcome", choiceField(values, "outcome", optionsOf("checks", "outcome"), {required: true, hint: say("outcome_hint")})),
    part("part_counts", ...COUNTS.map((name) => numberField(values, name, {low: 0, high: 200, hint: name === "eggs_unhatched" ? say("eggs_hint") : null}))),
    more("part_more", momentField(values, "checked_at"), textField(values, "notes", {long: true})),
    actions(button("save", () => saveCheck(draft), {kind: "primary"}), button("put_away", putAway)));
}

/** Nests to choose from: the round's, those found with this phone, or one by name. */
function nestChoice(draft) {
  const choose = (nest, label) => { draft.values.nest_id = nest; draft.nestLabel = label; keepDraft(); show("checks"); };
  const own = STATE.records.filter((record) => record.kind === "nests");
  const named = {};
  return [
    roundPart(choose),
    own.length ? part("own_nests", make("ul", {class: "visits"}, own.map((record) => make("li", {}, make("button",
      {type: "button", class: "visit", onclick: () => choose(record.values.nest_id, labelOf(record))}, labelOf(record)))))) : null,
    part("nest_by_name", textField(named, "nest_id", {most: 80, hint: say("nest_id_hint")}), button("check_this", () => {
      if (named.nest_id) choose(named.nest_id, named.nest_id);
    })),
    actions(button("back", putAway)),
  ].filter(Boolean);
}

/** Today's round: the file is read here and goes nowhere. */
function roundPart(choose) {
  const list = make("div", {class: "stack"});
  const fault = make("p", {class: "fault", role: "alert"});
  const input = make("input", {
    type: "file", accept: ".csv,.json,text/csv,application/json",
    onchange: async () => {
      const visits = input.files[0] ? readRound(await input.files[0].text()) : null;
      fault.textContent = visits ? "" : say("round_fault");
      if (!visits) return;
      STATE.round = {visits, day: null, who: null};
      STATE.store.keepSetting("round", STATE.round);
      fillRound(list, choose);
    },
  });
  fillRound(list, choose);
  return part("round_title", list, withLabel("round", input, {hint: say("round_hint")}), fault);
}

function fillRound(holder, choose) {
  const round = STATE.round;
  if (!round) { holder.replaceChildren(); return; }
  const days = [...new Set(round.visits.map((visit) => visit.day))].sort();
  const today = dayText(new Date());
  round.day ??= days.includes(today) ? today : days.find((day) => day > today) || days[days.length - 1];
  const people = [...new Set(round.visits.map((visit) => visit.observer))].filter(Boolean).sort();
  round.who ??= people.includes(STATE.settings.observer) ? STATE.settings.observer : "";
  const again = () => { STATE.store.keepSetting("round", round); fillRound(holder, choose); };
  const shown = round.visits.filter((visit) => visit.day === round.day && (!round.who || visit.observer === round.who));
  const done = new Set(STATE.records.filter((one) => one.kind === "checks" && one.values.checked_at.slice(0, 10) === round.day).map((one) => one.values.nest_id));
  holder.replaceChildren(
    selectField(round, "day", days.map((day) => ({value: day, words: day === today ? say("round_today", {day}) : day})), {then: again, label: "round_day"}),
    selectField(round, "who", [{value: "", words: say("round_all")}, ...people.map((name) => ({value: name, words: name}))], {then: again, label: "round_who"}),
    shown.length ? make("ol", {class: "visits"}, shown.map((visit) => visitEntry(visit, done.has(visit.nest), choose))) : make("p", {}, say("round_none")),
    roundMap(shown, choose) ?? "");
}

function visitEntry(visit, isDone, choose) {
  const chance = Number.isFinite(visit.chance) ? say("round_chance", {p: percent(visit.chance)}) : "";
  return make("li", {}, make("button", {type: "button", class: "visit", onclick: () => choose(visit.nest, visit.nest)},
    make("strong", {}, `${visit.order || ""} ${visit.nest}`.trim()), isDone ? make("span", {class: "ticked"}, `✓ ${say("round_done")}`) : null,
    make("span", {}, [visit.observer, visit.reason, chance].filter(Boolean).join(" · "))));
}

function saveCheck(draft) {
  const {values} = draft;
  if (!values.outcome) { refuse("fault_outcome", "outcome"); return; }
  if (values.outcome === "intact" && (values.hatchlings_live || values.hatchlings_dead)) { refuse("fault_intact", "outcome"); return; }
  saveRecord(draft, {});
}

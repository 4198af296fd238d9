/* A turtle on or beside the road, alive or dead. */

const ACTIONS = {
  alive: ["left", "moved_across"],
  injured: ["left", "moved_across", "to_rehabilitator"],
  dead: ["left", "carcass_removed", "carcass_marked"],
  unknown: ["left"],
};
const HEADINGS = [0, 45, 90, 135, 180, 225, 270, 315];

function crossingsScreen(main) {
  const draft = STATE.draft;
  const {values} = draft;
  const rest = make("div", {class: "stack"});
  const redraw = () => rest.replaceChildren(...restOfCrossing(draft));
  main.append(make("h1", {tabindex: "-1"}, say("crossing_title")), caution(say("traffic_short")));
  main.append(
    placePart(values),
    part("part_condition", choiceField(values, "condition", optionsOf("crossings", "condition"), {required: true, then: () => { freeOfContradiction(draft); redraw(); }})),
    rest,
    actions(button("save", () => saveCrossing(draft), {kind: "primary"}), button("put_away", putAway)));
  redraw();
}

function restOfCrossing(draft) {
  const {values} = draft;
  const isDead = values.condition === "dead";
  const acts = ACTIONS[values.condition] || ACTIONS.unknown;
  return [
    part("part_what", ownNameFields(values), marksOf(draft)),
    part("part_done", isDead ? null : caution(say("caution_move")), values.condition === "injured" ? caution(say("caution_injured")) : null,
      choiceField(values, "action", optionsOf("crossings", "action", (value) => acts.includes(value)))),
    more("part_more", ...moreOfCrossing(values, isDead)),
    make("p", {class: "hint"}, say("caution_hands")),
  ];
}

/** The way into the guided looks, with what they say so far. */
function marksOf(draft) {
  const found = draft.asked?.length ? identified(draft) : null;
  return make("div", {class: "marks"},
    found?.nAnswers ? make("p", {class: "written"}, say("marks_say"), " ", make("strong", {lang: "la"}, found.name.written), ` (${percent(found.name.p)})`) : null,
    button(found?.nAnswers ? "marks_more" : "marks_start", () => show("identify"), {kind: "wide"}),
    found?.second.length ? caution(say("second_person", {taxa: found.second.join(", ")})) : null,
    make("p", {class: "hint"}, say("marks_hint")));
}

function moreOfCrossing(values, isDead) {
  const compass = HEADINGS.map((degrees) => ({value: degrees, words: say(`heading/${degrees}`)}));
  return [
    momentField(values, "observed_at"),
    numberField(values, "count", {low: 1, high: 19}),
    isDead ? choiceField(values, "carcass_age", optionsOf("crossings", "carcass_age")) : null,
    isDead ? null : choiceField(values, "heading_deg", compass, {hint: say("heading_hint")}),
    choiceField(values, "life_stage", optionsOf("crossings", "life_stage")),
    choiceField(values, "sex", optionsOf("crossings", "sex"), {hint: say("sex_hint")}),
    choiceField(values, "gravid", ["yes", "no"].map((value) => ({value, words: say(value)})), {hint: say("gravid_hint")}),
    numberField(values, "carapace_mm", {low: 20, high: 760, hint: say("carapace_hint")}),
    photoField(values),
    textField(values, "notes", {long: true}),
  ];
}

/** Leave out what the condition rules out, so that no record contradicts itself. */
function freeOfContradiction(draft) {
  const {values} = draft;
  if (!(ACTIONS[values.condition] || ACTIONS.unknown).includes(values.action)) values.action = "";
  if (values.condition !== "dead") values.carcass_age = "";
  else values.heading_deg = "";
  if (values.view && !viewsFor(values).includes(values.view)) values.view = "";
  keepDraft();
}

function saveCrossing(draft) {
  const {values} = draft;
  if (values.sex === "male" || ["hatchling", "juvenile"].includes(values.life_stage)) {
    if (values.gravid === "yes") { refuse("fault_gravid", "gravid"); return; }
  }
  if (!isPlaced(values)) return;
  if (!values.condition) { refuse("fault_condition", "condition"); return; }
  saveRecord({...draft, seen: seenInView(draft)}, {record_id: draft.id});
}

/** The marks to be stored: those that were answered and that the view can show. */
function seenInView(draft) {
  const view = draft.values.view || null;
  return Object.fromEntries(Object.entries(draft.seen || {}).filter(([key, written]) =>
    written && canShow(CHARACTERS.get(key), view, true)));
}

/* A nest: where it is, when it was found, what is known of its laying. Nothing is dug for. */

function nestsScreen(main) {
  const draft = STATE.draft;
  const {values} = draft;
  main.append(
    make("h1", {tabindex: "-1"}, say("nest_title")),
    caution(say("traffic_short")),
    caution(say("caution_nest")),
    placePart(values),
    part("part_laying",
      choiceField(draft, "saw_laying", ["yes", "no"].map((value) => ({value, words: say(value)})), {label: "field/saw_laying", hint: say("saw_laying_hint")}),
      choiceField(values, "exposure", optionsOf("nests", "exposure"))),
    part("part_whose", ownNameFields(values), marksOf(draft)),
    more("part_more",
      momentField(values, "found_at"),
      dayField(values, "laid_from", {hint: say("laid_hint")}),
      dayField(values, "laid_to"),
      textField(draft, "marker", {most: 60, hint: say("marker_hint"), label: "field/marker"}),
      dayField(values, "protected_on", {hint: say("protected_hint")}),
      textField(values, "notes", {long: true})),
    actions(button("save", () => saveNest(draft), {kind: "primary"}), button("put_away", putAway)));
}

function saveNest(draft) {
  const {values} = draft;
  if (!isPlaced(values)) return;
  const found = (values.found_at || "").slice(0, 10);
  const laid = draft.saw_laying === "yes" ? {laid_on: found, laid_from: "", laid_to: ""} : {laid_on: ""};
  const isTurned = values.laid_from && values.laid_to && values.laid_from > values.laid_to;
  if (!laid.laid_on && (isTurned || (values.laid_to || "") > found || (values.laid_from || "") > found)) {
    refuse("fault_laid", "laid_from");
    return;
  }
  const marker = draft.marker ? say("marker_in_notes", {marker: draft.marker}) : "";
  const notes = [marker, values.notes].filter(Boolean).join("; ");
  saveRecord({...draft, seen: seenInView(draft)}, {nest_id: draft.id, notes, ...laid});
}

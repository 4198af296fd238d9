/* The first screen, who is recording, and the four things to record. */

const CAUTIONS = ["caution_move", "caution_no_relocation", "caution_bites", "caution_hands", "caution_permits", "caution_injured", "caution_agency"];

function startScreen(main) {
  main.append(
    make("section", {class: "traffic"},
      make("h1", {tabindex: "-1"}, say("start_title")),
      make("p", {}, say("start_traffic")),
      button("start_go", () => show(STATE.settings.observer === undefined ? "who" : "home"), {kind: "wide primary"})),
    make("section", {class: "part"}, make("h2", {}, say("cautions_title")), make("ul", {class: "cautions"}, CAUTIONS.map((key) => make("li", {}, say(key))))),
    make("p", {class: "hint"}, say("privacy")));
}

function whoScreen(main) {
  const values = {observer: "", observer_skill: "novice", ...STATE.settings};
  main.append(make("h1", {tabindex: "-1"}, say("who_title")),
    part("who_part", textField(values, "observer", {most: 80, hint: say("observer_hint")}),
      choiceField(values, "observer_skill", optionsOf("crossings", "observer_skill"), {required: true, hint: say("skill_hint")})),
    actions(button("who_save", async () => {
      STATE.settings = values;
      await STATE.store.keepSetting("who", values);
      show("home");
    }, {kind: "primary"})));
}

function homeScreen(main) {
  const fresh = unsaved().length;
  main.append(make("h1", {tabindex: "-1"}, say("home_title")), make("p", {class: "whisper"}, `! ${say("traffic_short")}`));
  if (STATE.search) main.append(make("button", {type: "button", class: "wide running", onclick: () => show("running")},
    say("home_running", {time: STATE.search.values.started_at.slice(11, 16)})));
  if (STATE.draft) main.append(make("button", {type: "button", class: "wide running", onclick: () => show("unfinished")}, say("home_unfinished")));
  const kinds = ["crossings", "nests", "checks", "searches"];
  main.append(make("div", {class: "tiles"}, kinds.map((kind) => make("button", {type: "button", class: "tile", onclick: () => openKind(kind)},
    drawing(kind), make("span", {}, say(`home/${kind}`))))));
  main.append(make("button", {type: "button", class: fresh ? "wide due" : "wide", onclick: () => show("records")},
    say(fresh ? "home_records_due" : "home_records", {n: STATE.records.length, fresh})));
  main.append(trustWords(), make("div", {class: "row"}, button("home_who", () => show("who")), button("home_cautions", () => show("start"))));
}

const openKind = (kind) => (kind === "searches" ? show(STATE.search ? "running" : "searches") : begin(kind));

/** How far the browser keeps records, in words. */
function trustWords() {
  const {trust} = STATE.store;
  const words = say(`trust/${trust}`);
  return trust === "kept" ? make("p", {class: "hint trust"}, words) : make("div", {class: "trust"}, caution(words));
}

/** A record that was begun and not saved, by the last opening of the page or the phone's back button. */
function unfinishedScreen(main) {
  const {draft} = STATE;
  if (!draft) { show("home"); return; }
  main.append(make("h1", {tabindex: "-1"}, say("unfinished_title")),
    make("p", {}, say("unfinished", {kind: say(`kind/${draft.kind}`), time: shortMoment(momentOf(draft))})),
    button("unfinished_on", () => show(draft.kind === "searches" ? "stop" : draft.kind), {kind: "wide primary"}),
    confirmed("throw_away", () => { dropDraft(); show("home"); }),
    actions(button("back", () => show("home"))));
}

function savedScreen(main) {
  const isKept = STATE.store.trust === "kept";
  const fresh = unsaved();
  main.append(make("h1", {tabindex: "-1"}, say(STATE.store.trust === "memory" ? "saved_memory" : "saved_title")),
    isKept ? "" : trustWords(),
    isKept || !fresh.length ? "" : button("export_new", () => exportRecords(fresh), {kind: "wide primary", values: {n: fresh.length}}),
    STATE.search ? button("saved_search", () => show("running"), {kind: "wide"}) : "",
    button("saved_home", () => show("home"), {kind: isKept ? "wide primary" : "wide"}),
    make("p", {class: "hint"}, say("caution_hands")));
}

/* A search: started, walked with its track while the page is open and lit, stopped; nothing found counts as much. */

const RUNNING = {watch: null, lock: null, last: null, problem: ""};

function searchesScreen(main) {
  const values = {observer: STATE.settings.observer || "", method: "foot", sides: "2"};
  const byCar = make("div", {});
  const warn = () => byCar.replaceChildren(values.method === "foot" ? "" : caution(say(values.method === "car" ? "caution_car" : "caution_bicycle")));
  main.append(make("h1", {tabindex: "-1"}, say("search_title")), caution(say("search_traffic")),
    part("search_how",
      choiceField(values, "method", optionsOf("searches", "method"), {required: true, then: warn}), byCar,
      choiceField(values, "sides", ["2", "1"].map((value) => ({value, words: say(`sides/${value}`)})), {required: true})),
    make("p", {class: "hint"}, say("search_track_hint")),
    actions(button("search_start", () => startSearch(values), {kind: "primary"}), button("back", () => show("home"))));
}

function startSearch(values) {
  const id = newId();
  STATE.search = {id, parts: [], values: {...values, sides: Number(values.sides), search_id: id, started_at: momentText(new Date())}};
  keepSearch();
  followSearch();
  show("running");
}

const keepSearch = () => STATE.store.keepSetting("search", STATE.search);

/** Listen for fixes as long as the search runs; ask the phone to keep its screen lit where it grants that. */
function followSearch() {
  RUNNING.watch?.stop();
  RUNNING.watch = new PositionWatch((fix) => {
    if (!STATE.search) return;
    RUNNING.last = fix;
    RUNNING.problem = "";
    const before = STATE.search.parts.flat().length;
    STATE.search.parts = addFix(STATE.search.parts, fix);
    if (STATE.search.parts.flat().length !== before) keepSearch();
    fillRunning();
  }, (key) => { RUNNING.problem = key; fillRunning(); });
  RUNNING.watch.start();
  keepLit();
}

function keepLit() {
  if (!STATE.search || !navigator.wakeLock || document.visibilityState !== "visible") return;
  navigator.wakeLock.request("screen").then((lock) => { RUNNING.lock = lock; }).catch(() => { RUNNING.lock = null; });
}

function endFollowing() {
  RUNNING.watch?.stop();
  RUNNING.lock?.release().catch(() => null);
  Object.assign(RUNNING, {watch: null, lock: null, last: null, problem: ""});
}

const crossingsOf = (search) => STATE.records.filter((record) => record.kind === "crossings" && record.values.search_id === search.id);

function runningScreen(main) {
  if (!STATE.search) { show("home"); return; }
  main.append(make("h1", {tabindex: "-1"}, say("running_title")), caution(say("traffic_short")),
    make("p", {class: "reading", id: "running"}),
    button("running_found", () => begin("crossings"), {kind: "wide primary"}),
    make("p", {class: "hint"}, say("search_track_hint")),
    actions(button("search_stop", stopSearch, {kind: "stop"}), button("running_home", () => show("home"))));
  fillRunning();
}

function fillRunning() {
  const holder = document.getElementById("running");
  if (!holder || !STATE.search) return;
  const km = trackKm(STATE.search.parts);
  const fix = RUNNING.problem ? say(RUNNING.problem) : RUNNING.last ? say("running_fix", {m: Math.ceil(RUNNING.last.position_error_m)}) : say("place_waiting");
  holder.replaceChildren(
    make("strong", {}, say("running_km", {km: km.toFixed(2), mi: (km / 1.609344).toFixed(2)})),
    make("span", {}, say("running_since", {time: STATE.search.values.started_at.slice(11, 16)})),
    make("span", {}, say("running_count", {n: crossingsOf(STATE.search).length})),
    make("span", {}, fix));
}

function stopSearch() {
  if (STATE.draft) { show("unfinished"); return; }
  const search = STATE.search;
  const km = trackKm(search.parts);
  const nFound = crossingsOf(search).length;
  STATE.draft = {
    kind: "searches", id: search.id, seen: {}, chosenRoads: [], nFound,
    values: {
      ...search.values, ended_at: momentText(new Date()), track: trackText(search.parts),
      distance_km: km >= 0.001 ? rounded(km, 3) : "", found_none: nFound ? "no" : "",
    },
  };
  keepDraft();
  show("stop");
}

function stopScreen(main) {
  const draft = STATE.draft;
  const {values} = draft;
  main.append(make("h1", {tabindex: "-1"}, say("stop_title")),
    make("p", {class: "reading"}, make("strong", {}, say(values.track ? "stop_track" : "stop_no_track", {km: values.distance_km})), make("span", {}, say("running_count", {n: draft.nFound}))),
    draft.nFound ? "" : part("part_found", choiceField(values, "found_none", ["yes", "no"].map((value) => ({value, words: say(`found_none/${value}`)})), {required: true})),
    part("part_roads", make("p", {class: "hint"}, say(values.track ? "roads_hint" : "roads_needed")), roadsField(draft)),
    more("part_more", textField(values, "notes", {long: true})),
    actions(button("save", () => saveSearch(draft), {kind: "primary"}), button("search_on", () => { dropDraft(); show("running"); })));
}

/** Names of roads searched from end to end, chosen from the county's. */
function roadsField(draft) {
  const list = make("ul", {class: "chosen"});
  const fill = () => list.replaceChildren(...draft.chosenRoads.map((name) => make("li", {}, make("span", {}, name),
    make("button", {type: "button", "aria-label": say("road_remove", {road: name}), onclick: () => {
      draft.chosenRoads = draft.chosenRoads.filter((other) => other !== name);
      keepDraft();
      fill();
    }}, "×"))));
  const holder = {road: ""};
  const names = DATA.map.roads.map(({name}) => name).filter(Boolean);
  const field = selectField(holder, "road", [{value: "", words: say("road_choose")}, ...names.map((name) => ({value: name, words: name}))], {
    then: (name) => {
      if (name && !draft.chosenRoads.includes(name)) draft.chosenRoads.push(name);
      field.querySelector("select").value = "";
      keepDraft();
      fill();
    },
  });
  fill();
  return make("div", {}, field, list);
}

function saveSearch(draft) {
  const {values} = draft;
  if (!values.found_none) { refuse("fault_found", "found_none"); return; }
  if (!values.track && !draft.chosenRoads.length) { refuse("fault_roads", "road"); return; }
  endFollowing();
  STATE.search = null;
  keepSearch();
  saveRecord(draft, {roads: draft.chosenRoads.join(";")});
}

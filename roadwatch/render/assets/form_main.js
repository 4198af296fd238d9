/* Which screen stands, what is kept as it is typed, and how a record is closed. */

const SCREENS = {
  start: startScreen, who: whoScreen, home: homeScreen, crossings: crossingsScreen, nests: nestsScreen, checks: checksScreen,
  searches: searchesScreen, running: runningScreen, stop: stopScreen, identify: identifyScreen, records: recordsScreen,
  unfinished: unfinishedScreen, saved: savedScreen,
};
const NEED_DRAFT = ["crossings", "nests", "checks", "stop", "identify"];
let endings = [];
const atScreenEnd = (act) => endings.push(act);

/** Put up a screen; the phone's own back button leads through those that stood before. */
function show(name, {remember = true} = {}) {
  endings.forEach((act) => act());
  endings = [];
  STATE.screen = NEED_DRAFT.includes(name) && !STATE.draft ? "home" : name;
  const main = document.getElementById("screen");
  main.replaceChildren();
  main.setAttribute("data-screen", STATE.screen);
  SCREENS[STATE.screen](main);
  if (remember) history.pushState({screen: STATE.screen}, "");
  window.scrollTo(0, 0);
  main.querySelector("h1")?.focus({preventScroll: true});
}

const DATE_FIELD = {crossings: "observed_at", nests: "found_at", checks: "checked_at"};

/** Start a record of a kind, or ask what becomes of one that was begun. */
function begin(kind) {
  if (STATE.draft) { show("unfinished"); return; }
  const {observer = "", observer_skill: skill = "novice"} = STATE.settings;
  const values = {observer, [DATE_FIELD[kind]]: momentText(new Date())};
  if (kind !== "checks") values.observer_skill = skill;
  if (kind === "crossings") Object.assign(values, {count: 1, search_id: STATE.search?.id || ""});
  STATE.draft = {kind, id: newId(), values, seen: {}};
  show(kind);
}

function keepDraft() {
  if (STATE.draft) STATE.store.keepSetting("draft", STATE.draft);
}

function dropDraft() {
  STATE.draft = null;
  STATE.store.keepSetting("draft", null);
}

/** Leave a record without saving it: it waits on the first screen. */
function putAway() {
  if (STATE.draft?.kind === "checks" && !STATE.draft.values.nest_id) dropDraft();
  show(STATE.draft ? "unfinished" : STATE.search ? "running" : "home");
}

/** Say why a record cannot be saved yet, and lead to the field. */
function refuse(key, field) {
  document.querySelectorAll(".refusal").forEach((old) => old.remove());
  const words = make("p", {class: "fault refusal", role: "alert"}, say(key));
  const place = document.querySelector(`[data-field="${field}"]`) || document.querySelector(".part");
  place.closest("details")?.setAttribute("open", "");
  place.prepend(words);
  place.querySelector("input, select, textarea, button")?.focus({preventScroll: true});
  words.scrollIntoView({block: "center"});
}

function isPlaced(values) {
  if (values.longitude === undefined) { refuse("fault_place", "place"); return false; }
  if (!isInCounty(values)) { refuse("place_outside", "place"); return false; }
  return true;
}

/** Close a record: under its own name, with what its kind adds, blanks left out. */
async function saveRecord(draft, extra) {
  const all = {...draft.values, ...extra};
  if (all.taxon === "Testudines") all.id_confidence = "";
  const values = Object.fromEntries(Object.entries(all).filter(([, value]) => value !== "" && value !== null && value !== undefined));
  await STATE.store.keepRecord({
    id: draft.id, kind: draft.kind, values, seen: draft.seen, draft: JSON.parse(JSON.stringify(STATE.draft)), saved_at: momentText(new Date()), exported_at: "",
  });
  STATE.records = await STATE.store.records();
  dropDraft();
  announce(say("saved_title"));
  show("saved");
}

function fillLanguages() {
  const choose = (language) => () => {
    STATE.language = language;
    document.documentElement.lang = language;
    STATE.store.keepSetting("language", language);
    fillLanguages();
    show(STATE.screen, {remember: false});
  };
  document.getElementById("languages").replaceChildren(...Object.keys(DATA.words).map((language) => make("button", {
    type: "button", lang: language, "aria-pressed": String(language === STATE.language), onclick: choose(language),
  }, DATA.words[language].language_name)));
}

async function openForm() {
  STATE.store = await RecordStore.open(`field form ${DATA.title}`);
  const wanted = (await STATE.store.setting("language")) || (navigator.language || "en").slice(0, 2);
  STATE.language = wanted in DATA.words ? wanted : "en";
  document.documentElement.lang = STATE.language;
  STATE.settings = (await STATE.store.setting("who")) || {};
  STATE.round = (await STATE.store.setting("round")) || null;
  STATE.draft = (await STATE.store.setting("draft")) || null;
  STATE.search = (await STATE.store.setting("search")) || null;
  STATE.records = await STATE.store.records();
  if (STATE.search) followSearch();
  fillLanguages();
  show("start");
}

window.addEventListener("popstate", (event) => show(event.state?.screen || "start", {remember: false}));
document.addEventListener("visibilitychange", keepLit);
openForm();

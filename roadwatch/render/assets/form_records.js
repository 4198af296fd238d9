/* What is kept on this phone: looked at, saved as a file, cleared by hand. */

function labelOf({kind, values, draft}) {
  const named = {
    crossings: () => `${TREE.english[values.taxon] || values.taxon}, ${sayChoice("condition", values.condition)}`,
    nests: () => draft?.marker || `${say("nest_word")} ${values.nest_id.slice(0, 8)}`,
    checks: () => `${draft?.nestLabel || values.nest_id}: ${sayChoice("outcome", values.outcome)}`,
    searches: () => say("search_label", {km: values.distance_km === undefined ? "?" : values.distance_km}),
  };
  return named[kind]();
}

const momentOf = ({values}) => values.observed_at || values.found_at || values.checked_at || values.started_at || "";
const unsaved = () => STATE.records.filter((record) => !record.exported_at);

function recordsScreen(main) {
  const fresh = unsaved();
  const old = STATE.records.filter((record) => record.exported_at);
  main.append(make("h1", {tabindex: "-1"}, say("records_title")), trustWords(),
    make("p", {}, say("records_count", {n: STATE.records.length, fresh: fresh.length})),
    fresh.length ? button("export_new", () => exportRecords(fresh), {kind: "wide primary", values: {n: fresh.length}}) : "",
    old.length ? button("export_all", () => exportRecords(STATE.records), {kind: "wide"}) : "",
    make("p", {class: "hint"}, say("export_hint")),
    make("p", {id: "exported", role: "status"}),
    make("ul", {class: "records"}, STATE.records.slice().reverse().map(recordEntry)),
    STATE.records.length ? textsPart() : "",
    old.length ? part("clear_title", make("p", {}, say("clear_hint")), confirmed("clear", async () => {
      await dropRecords(old.map((record) => record.id));
      show("records");
    }, {n: old.length})) : "",
    actions(button("back", () => show("home"))));
}

function recordEntry(record) {
  const mark = record.exported_at ? `✓ ${say("mark_saved", {time: shortMoment(record.exported_at)})}` : `● ${say("mark_unsaved")}`;
  return make("li", {class: record.exported_at ? "saved" : "unsaved"},
    make("div", {}, make("span", {class: "kind"}, drawing(record.kind), say(`kind/${record.kind}`)), make("strong", {}, labelOf(record)),
      make("span", {}, shortMoment(momentOf(record))), make("span", {class: "mark"}, mark)),
    make("div", {class: "row"},
      record.exported_at ? "" : button("change", () => changeRecord(record)),
      confirmed("delete", async () => { await dropRecords([record.id]); show("records"); })));
}

/** A button that asks once more before it acts. */
function confirmed(key, act, values = {}) {
  const first = button(key, () => {
    first.replaceWith(second);
    second.focus();
  }, {values});
  const second = button(`${key}_sure`, act, {kind: "stop", values});
  return first;
}

async function dropRecords(ids) {
  await STATE.store.dropRecords(ids);
  STATE.records = await STATE.store.records();
}

/** An unsaved record is opened again as it was filled in; a saved one stays as the file has it. */
function changeRecord(record) {
  STATE.draft = JSON.parse(JSON.stringify(record.draft));
  keepDraft();
  show(record.kind === "searches" ? "stop" : record.kind);
}

/** Save records as a workbook that "ingest" takes, and mark them. */
async function exportRecords(records) {
  const now = momentText(new Date());
  const name = `turtle_records_${now.slice(0, 10)}_${now.slice(11, 19).replace(/:/g, "")}.xlsx`;
  saveFile(workbookOf(records), name);
  for (const record of records) await STATE.store.keepRecord({...record, exported_at: now});
  STATE.records = await STATE.store.records();
  show("records");
  document.getElementById("exported").replaceChildren(make("strong", {}, say("exported", {name, n: records.length})));
}

/** For a phone that saves no files: the same rows as text, to be copied into a message. */
function textsPart() {
  const boxes = make("div", {});
  const fill = () => boxes.replaceChildren(...KINDS.filter((kind) => STATE.records.some((record) => record.kind === kind)).map((kind) =>
    withLabel(kind, make("textarea", {rows: 4, readonly: true, value: csvText(STATE.records, kind)}), {label: `kind/${kind}`})));
  return more("texts_title", make("p", {class: "hint"}, say("texts_hint")), button("texts_show", fill), boxes);
}

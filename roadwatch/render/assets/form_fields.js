/* Fields as wide as a cold thumb: choices, numbers, texts, times, names. Each writes its value into a record's values. */

let fieldNumber = 0;
const freshId = (name) => `${name}-${(fieldNumber += 1)}`;

/** One of several words, as big buttons; the last one, where it is wanted, leaves the column blank. */
function choiceField(values, name, options, {label = `field/${name}`, hint = null, required = false, blank = "not_noted", then = () => {}} = {}) {
  const group = freshId(name);
  const all = required ? options : [...options, {value: "", words: say(blank)}];
  const choices = all.map(({value, words}) => {
    const input = make("input", {
      type: "radio", name: group, value, checked: (values[name] ?? (required ? null : "")) === value,
      onchange: () => { values[name] = value; keepDraft(); then(value); },
    });
    return make("label", {class: value === "" ? "choice blank" : "choice"}, input, make("span", {}, words));
  });
  return make("fieldset", {class: "field", "data-field": name},
    make("legend", {}, say(label), required ? requiredMark() : null), hint ? make("p", {class: "hint"}, hint) : null,
    make("div", {class: "choices"}, choices));
}

const requiredMark = () => make("span", {class: "needed"}, ` (${say("needed")})`);

/** The words of a choice column, in the order of the table of columns. */
function optionsOf(kind, name, keep = () => true) {
  return DATA.choices[kind][name].filter(keep).map((value) => ({value, words: sayChoice(name, value)}));
}

function withLabel(name, input, {hint = null, label = `field/${name}`, needed = false} = {}) {
  const id = freshId(name);
  input.id = id;
  const note = hint ? make("p", {class: "hint", id: `${id}-hint`}, hint) : null;
  if (note) input.setAttribute("aria-describedby", note.id);
  return make("div", {class: "field", "data-field": name},
    make("label", {for: id}, say(label), needed ? requiredMark() : null), note, input);
}

function textField(values, name, {long = false, most = 2000, ...rest} = {}) {
  const input = make(long ? "textarea" : "input", {
    type: long ? null : "text", rows: long ? 3 : null, maxlength: most, autocomplete: "off", value: values[name] || "",
    oninput: () => { values[name] = cleaned(input.value); keepDraft(); },
  });
  return withLabel(name, input, rest);
}

/** A number between two limits; anything else is refused in words and stays out of the record. */
function numberField(values, name, {low, high, whole = true, ...rest}) {
  const fault = make("p", {class: "fault", role: "alert"});
  const input = make("input", {
    type: "text", inputmode: whole ? "numeric" : "decimal", autocomplete: "off", value: values[name] ?? "",
    oninput: () => {
      const number = Number(input.value.replace(",", "."));
      const isFit = input.value.trim() !== "" && number >= low && number <= high && (!whole || Number.isInteger(number));
      values[name] = isFit ? number : "";
      fault.textContent = isFit || input.value.trim() === "" ? "" : say("number_fault", {low, high});
      keepDraft();
    },
  });
  const field = withLabel(name, input, rest);
  field.append(fault);
  return field;
}

function momentField(values, name, rest = {}) {
  const input = make("input", {
    type: "datetime-local", value: shownInInput(values[name]), max: shownInInput(momentText(new Date())),
    onchange: () => { values[name] = readFromInput(input.value); keepDraft(); },
  });
  return withLabel(name, input, rest);
}

function dayField(values, name, rest = {}) {
  const input = make("input", {
    type: "date", value: values[name] || "", max: dayText(new Date()),
    onchange: () => { values[name] = input.value; keepDraft(); },
  });
  return withLabel(name, input, rest);
}

function selectField(values, name, options, {then = () => {}, ...rest} = {}) {
  const input = make("select", {
    onchange: () => { values[name] = input.value; keepDraft(); then(input.value); },
  }, options.map(({value, words, lang}) => make("option", {value, lang, selected: (values[name] || "") === value}, words)));
  return withLabel(name, input, rest);
}

/** A picture's name; the picture itself is left where it is. */
function photoField(values) {
  const name = make("p", {class: "hint", role: "status"}, values.photo ? say("photo_kept", {name: values.photo}) : say("photo_hint"));
  const input = make("input", {
    type: "file", accept: "image/*", multiple: true,
    onchange: () => {
      values.photo = cleaned([...input.files].map((file) => file.name).join("; "));
      name.textContent = values.photo ? say("photo_kept", {name: values.photo}) : say("photo_hint");
      keepDraft();
    },
  });
  const field = withLabel("photo", input);
  field.append(name);
  return field;
}

/** The observer's own name for the animal, and how sure; apart from what the marks say. */
function ownNameFields(values) {
  const options = [{value: "Testudines", words: say("name_unknown")},
    ...TABLES.names.map(({taxon, english}) => ({value: taxon, words: `${english} (${taxon})`, lang: "en"}))];
  values.taxon ||= "Testudines";
  const sure = make("div", {hidden: values.taxon === "Testudines"}, choiceField(values, "id_confidence",
    DATA.confidence_words.map((value) => ({value, words: sayChoice("id_confidence", value)}))));
  const name = selectField(values, "taxon", options, {then: (taxon) => { sure.hidden = taxon === "Testudines"; }, hint: say("name_hint")});
  return [name, sure];
}

const part = (titleKey, ...children) => make("section", {class: "part"}, make("h2", {}, say(titleKey)), ...children);
const more = (titleKey, ...children) => make("details", {class: "part"}, make("summary", {}, say(titleKey)), ...children);
const actions = (...children) => make("div", {class: "actions"}, ...children);

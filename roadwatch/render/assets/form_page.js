"use strict";
/* What every part of the form stands on: its data, its words in two languages, and how elements are made. */

const DATA = JSON.parse(document.getElementById("form-data").textContent);
const STATE = {language: "en", screen: "start", records: [], settings: {}, store: null, draft: null, search: null, round: null};

/** A text of the page in the chosen language, its {places} filled; English where a translation is missing. */
function say(key, values = {}) {
  const text = DATA.words[STATE.language][key] || DATA.words.en[key] || key;
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
}

/** A text that the tables give in English; where the words' table translates it, that. */
function sayOf(key, english) {
  const text = DATA.words[STATE.language][key];
  return text ? {text, lang: STATE.language} : {text: english, lang: "en"};
}

/** The words of a choice of a column, such as condition dead. */
const sayChoice = (column, value) => say(`choice/${column}/${value}`);

/** Make an element; texts become text nodes, never markup. Names that start with "on" are listeners. */
function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name in {value: 0, checked: 0, disabled: 0, selected: 0}) element[name] = value;
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
  return element;
}

/** A text of the tables, marked with its language where that differs from the page's. */
function tableText(tag, key, english, attributes = {}) {
  const {text, lang} = sayOf(key, english);
  return make(tag, {...attributes, lang: lang === STATE.language ? null : lang}, text);
}

/** One of the form's own line drawings, beside a label that says the same. */
function drawing(name) {
  const paths = {
    crossings: ["M5 15a7 6 0 0 1 14 0z", "M19 14c2 0 3-1 3-2s-1-2-2-2-2 2-2 3", "M7 15l-1 3M17 15l1 3M3 15h2", "M9 11l3 4 3-4"],
    nests: ["M4 16a8 5 0 0 1 16 0c0 2-4 4-8 4s-8-2-8-4z", "M9 14a1.6 2 0 1 0 .1 0z", "M14 14a1.6 2 0 1 0 .1 0z", "M12 5v4M10 7l2-2 2 2"],
    checks: ["M5 20V4h9l5 5v11z", "M14 4v5h5", "M8 14l3 3 5-6"],
    searches: ["M4 20l5-16M20 20l-5-16", "M12 5v2M12 10v3M12 16v4"],
  };
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  const attributes = {viewBox: "0 0 24 24", width: 40, height: 40, "aria-hidden": "true", focusable: "false", class: "drawing"};
  for (const [key, value] of Object.entries(attributes)) svg.setAttribute(key, value);
  for (const line of paths[name]) {
    const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
    path.setAttribute("d", line);
    svg.append(path);
  }
  return svg;
}

/** A big button. */
function button(key, onclick, {kind = "", values = {}, ...attributes} = {}) {
  return make("button", {type: "button", class: kind, onclick, ...attributes}, say(key, values));
}

/** A caution: marked by its sign and its frame, not by colour alone. */
function caution(text, {role = null} = {}) {
  return make("p", {class: "caution", role}, make("span", {class: "sign", "aria-hidden": "true"}, "!"), make("span", {}, text));
}

/** Tell a reader of the screen, and everybody, what just happened. */
function announce(text) {
  document.getElementById("said").textContent = text;
}

/** Text without what no file can hold: control characters and halves of pairs. */
function cleaned(text) {
  const whole = Array.from(String(text ?? "").replace(/\r\n?/g, "\n")).filter((sign) => !/^[\ud800-\udfff]$/.test(sign)).join("");
  return whole.replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\ufffe\uffff]/g, "").trim();
}

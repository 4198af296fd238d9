"use strict";

/* The controls above the map: what they say becomes what every layer and table shows. */
function driveFilters(page) {
  var season = page.season;
  var MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
  var control = {};
  ["year", "taxon", "sureness", "condition", "from", "to", "reset"].forEach(function (name) {
    control[name] = document.getElementById("choose-" + name);
  });
  var years = Array.from(control.year.options, function (option) { return Number(option.value); }).filter(Boolean);
  var crossings = seasonChoices.ofCrossings(season.crossings), nests = seasonChoices.ofNests(season.nests);
  var measures = seasonChoices.ofMeasures(season.measures, years);

  function dayWords(number) {
    var day = new Date(Date.UTC(2024, 0, number));
    return day.getUTCDate() + " " + MONTHS[day.getUTCMonth()];
  }

  function chosen() {
    var from = Number(control.from.value), to = Number(control.to.value), taxon = control.taxon.value;
    return {
      year: Number(control.year.value), taxon: taxon, within: new Set(season.within[taxon] || []),
      sureness: Number(control.sureness.value), condition: control.condition.value === "" ? -1 : Number(control.condition.value),
      from: from, to: to, days: from > Number(control.from.min) || to < Number(control.to.max)
    };
  }

  /* The answer for year and taxon; the one of all records, in grey, where there is none or where more was chosen. */
  function answerFor(choice) {
    var more = choice.sureness || choice.condition >= 0 || choice.days;
    var found = season.answers.find(function (answer) {
      return (answer.year ? Number(answer.year) : 0) === choice.year && (answer.taxon || "") === choice.taxon;
    });
    var grey = Boolean(more || !found || (found !== season.answers[0] && found.note));
    return { answer: grey ? season.answers[0] : found, grey: grey, note: found && !more ? found.note : "" };
  }

  function choiceWords(choice) {
    var words = [];
    if (choice.year) { words.push(String(choice.year)); }
    if (choice.taxon) { words.push(choice.taxon); }
    if (choice.sureness) { words.push("name " + choice.sureness + " % sure or more"); }
    if (choice.condition >= 0) { words.push("crossings " + control.condition.selectedOptions[0].textContent); }
    if (choice.days) { words.push(dayWords(choice.from) + " to " + dayWords(choice.to)); }
    return words.join(", ");
  }

  function answerWords(found, words) {
    if (!words) { return ""; }
    if (!found.grey) {
      return "Hotspots are those of " + words + (found.answer.rings.length ? "." : ": none was found.");
    }
    return "Hotspots are those of all records, in grey: none was computed beforehand for " + words + "." +
      (found.note ? " " + found.note.replace(/\.?$/, ".") : "");
  }

  function written(n) { return String(n).replace(/\B(?=(\d{3})+$)/g, ","); }

  function countWords(seen, eggs, choice) {
    var words = [written(seen.shown) + " of " + written(season.crossings.n) + " crossings shown"];
    if (page.groups.nests) { words.push(written(eggs.shown) + " of " + written(season.nests.n) + " nests"); }
    if (seen.dayless) { words.push(written(seen.dayless) + " crossings without a day are left out"); }
    if (page.groups.cells && season.cells.bounds.length && choiceWords(choice)) { words.push("squares always count all records"); }
    return words.join("; ") + ".";
  }

  function rowOf(key) {
    var button = document.querySelector('[data-show="' + key + '"]');
    return button ? button.closest("tr") : null;
  }

  /* Rows of a layer on the map and in its table. */
  function showRows(key, drawn, mask) {
    drawn.forEach(function (layers, row) {
      var line = rowOf(key + "-" + row);
      if (line) { line.hidden = !mask[row]; }
      layers.forEach(function (layer) {
        if (mask[row]) { page.groups[key].addLayer(layer); } else { page.groups[key].removeLayer(layer); }
      });
    });
  }

  function labelDays(choice) {
    [["from", choice.from], ["to", choice.to]].forEach(function (end) {
      control[end[0]].setAttribute("aria-valuetext", dayWords(end[1]));
      document.getElementById(end[0] + "-words").textContent = dayWords(end[1]);
    });
  }

  function apply() {
    var choice = chosen(), words = choiceWords(choice), seen = crossings(choice), eggs = nests(choice), found = answerFor(choice);
    labelDays(choice);
    page.records.show(words ? seen.mask : null);
    showRows("nests", page.nests, eggs.mask);
    showRows("measures", page.measures, measures(choice).mask);
    if (page.shownAnswer !== found.answer || page.shownGrey !== found.grey) {
      page.shownAnswer = found.answer;
      page.shownGrey = found.grey;
      page.showHotspots(found.answer, found.grey);
    }
    seasonTables.showHotspots(page, found, words);
    seasonTables.showCrossings(page, seen, words);
    page.markLayers(found.grey, Boolean(words));
    document.getElementById("shown").textContent = countWords(seen, eggs, choice);
    document.getElementById("answer").textContent = answerWords(found, words);
    document.getElementById("chosen").textContent = words ? "Shown in the tables: " + words + ". The picture shows all records." : "";
  }

  /* The two ends of the span never cross: the one that is moved pushes the other. */
  function moved(end) {
    var from = Number(control.from.value), to = Number(control.to.value);
    if (from > to && end === "from") { control.to.value = String(from); }
    if (from > to && end === "to") { control.from.value = String(to); }
    later();
  }

  var waiting = 0;
  function later() {
    cancelAnimationFrame(waiting);
    waiting = requestAnimationFrame(apply);
  }

  ["year", "taxon", "sureness", "condition"].forEach(function (name) { control[name].addEventListener("change", apply); });
  ["from", "to"].forEach(function (end) { control[end].addEventListener("input", function () { moved(end); }); });
  control.reset.addEventListener("click", function () {
    ["year", "taxon", "sureness", "condition"].forEach(function (name) { control[name].value = ""; });
    control.from.value = control.from.min;
    control.to.value = control.to.max;
    apply();
  });
  if (window.innerWidth < 700) { document.querySelector(".controls details").open = false; }
  apply();
}

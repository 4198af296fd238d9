"use strict";

/* The tables under the map that follow the reader's choices: hotspots of the answer shown, and the crossings shown. */
var seasonTables = (function () {
  var PAGE = 20;
  var made = seasonCards.element, first = null, state = { rows: null, from: 0, open: false };

  function cell(tag, text, head, scope) {
    var one = made(tag, text);
    if (head) { one.dataset.head = head; }
    if (scope) { one.scope = scope; }
    if (/^\d{4}-\d{2}-\d{2}$/.test(text)) { one.className = "date"; }
    return one;
  }

  function showButton(target, name) {
    var place = made("td", "", "screen"), button = made("button", "Show");
    button.type = "button";
    button.dataset.show = target;
    button.setAttribute("aria-label", "Show " + name + " on the map");
    place.appendChild(button);
    return place;
  }

  /* heads; rows of a name, a target and texts under the heads. */
  function table(label, heads, rows) {
    var wide = made("div", "", "wide"), whole = wide.appendChild(made("table"));
    var head = whole.appendChild(made("thead")).appendChild(made("tr")), body = whole.appendChild(made("tbody"));
    heads.forEach(function (text) { head.appendChild(cell("th", text, "", "col")); });
    var map = cell("th", "Map", "", "col");
    map.className = "screen";
    head.appendChild(map);
    rows.forEach(function (row) {
      var line = body.appendChild(made("tr"));
      line.appendChild(cell("th", row.name, "", "row"));
      row.texts.forEach(function (text, place) { line.appendChild(cell("td", text, heads[place + 1])); });
      line.appendChild(showButton(row.target, row.name));
    });
    wide.tabIndex = 0;
    wide.setAttribute("role", "region");
    wide.setAttribute("aria-labelledby", label);
    return wide;
  }

  function rowsOf(columns, row) { return columns.map(function (column) { return seasonData.textOf(column, row); }); }

  function hotspotTable(answer) {
    if (!answer.names.length) { return made("p", "No hotspot was found for this choice.", "empty"); }
    var heads = ["Hotspot"].concat(answer.columns.map(function (column) { return column.label; }));
    return table("hotspots-words", heads, answer.names.map(function (name, row) {
      return { name: name.replace(/^Hotspot /, ""), target: "hotspots-" + row, texts: rowsOf(answer.columns, row) };
    }));
  }

  /* The table written with the page stands for all records; the others are made when they are asked for. */
  function showHotspots(page, found, words) {
    var section = document.getElementById("hotspots"), heading = section.querySelector("h2");
    if (!first) { first = { nodes: Array.from(section.children).slice(1), words: heading.textContent }; }
    var own = page.season.answers[0] === found.answer;
    heading.textContent = first.words + (!words ? "" : found.grey ? " (all records)" : " (" + words + ")");
    section.replaceChildren(heading, ...(own ? first.nodes : [hotspotTable(found.answer)]));
    if (!own) {
      heading.id = "hotspots-words";
    } else if (first.nodes[0] && first.nodes[0].hasAttribute("aria-labelledby")) {
      heading.id = first.nodes[0].getAttribute("aria-labelledby");
    }
  }

  /* Rows of the written table are counted anew: taxon by condition. */
  function count(page, mask) {
    var set = page.season.crossings, taxon = seasonData.column(set, "taxon"), counts = {};
    for (var i = 0; i < set.n; i += 1) {
      if (mask[i]) {
        var code = taxon ? taxon.codes[i] : 0, own = counts[code] || (counts[code] = new Uint32Array(page.signs.crossings.length));
        own[set.sign[i]] += 1;
      }
    }
    var byName = {};
    Object.keys(counts).forEach(function (code) {
      byName[Number(code) ? taxon.texts[Number(code) - 1].trim() || "name not known" : "name not known"] = counts[code];
    });
    return byName;
  }

  function showCounts(page, mask, words) {
    var section = document.getElementById("crossings"), counts = count(page, mask);
    section.querySelector("h2").textContent = "Crossings counted by taxon and condition, " + (words || "all records");
    section.querySelectorAll("#crossings > .wide tbody tr").forEach(function (line) {
      var own = Object.prototype.hasOwnProperty.call(counts, line.cells[0].textContent) ? counts[line.cells[0].textContent] : null;
      line.hidden = !own;
      Array.from(line.cells).slice(1).forEach(function (place, sign) { place.textContent = String(own ? own[sign] : 0); });
    });
  }

  function turn(page, from) {
    state.from = from;
    list(page);
    document.getElementById("crossing-list-words").focus();
  }

  function list(page) {
    var place = document.getElementById("crossing-list"), set = page.season.crossings, rows = state.rows;
    var last = Math.min(state.from + PAGE, rows.length);
    var words = made("p", rows.length ? "Crossings " + (state.from + 1) + " to " + last + " of " + rows.length + " shown" : "No crossing is shown.");
    words.id = "crossing-list-words";
    words.tabIndex = -1;
    place.querySelector("details").replaceChildren(place.querySelector("summary"), words);
    if (!rows.length) { return; }
    var heads = ["Crossing"].concat(set.columns.map(function (column) { return column.label; }));
    place.querySelector("details").appendChild(table("crossing-list-words", heads, Array.from(rows.subarray(state.from, last), function (row, turned) {
      return { name: String(state.from + turned + 1), target: "crossings-" + row, texts: rowsOf(set.columns, row) };
    })));
    var back = seasonCards.button("Earlier in the list", function () { turn(page, Math.max(0, state.from - PAGE)); });
    var on = seasonCards.button("Further in the list", function () { turn(page, state.from + PAGE); });
    back.disabled = state.from === 0;
    on.disabled = last === rows.length;
    place.querySelector("details").append(back, on);
  }

  function rowsShown(seen) {
    var rows = new Uint32Array(seen.shown), place = 0;
    for (var i = 0; i < seen.mask.length; i += 1) { if (seen.mask[i]) { rows[place] = i; place += 1; } }
    return rows;
  }

  /* The list is made only while it is open: most readers of 100,000 records never open it. */
  function showCrossings(page, seen, words) {
    var place = document.getElementById("crossing-list");
    if (!place) { return; }
    state.rows = rowsShown(seen);
    state.from = 0;
    if (!place.firstChild) {
      var box = place.appendChild(made("details"));
      box.appendChild(made("summary", "List of the crossings shown"));
      box.addEventListener("toggle", function () { state.open = box.open; if (box.open) { list(page); } });
    } else {
      showCounts(page, seen.mask, words);
    }
    if (state.open) { list(page); }
  }

  return { showHotspots: showHotspots, showCrossings: showCrossings };
}());

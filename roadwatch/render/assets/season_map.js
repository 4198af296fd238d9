"use strict";

/* Draws the page's data block into the layer groups of the map. Texts reach the page through textContent only. */
function drawSeason(map, groups) {
  var season = JSON.parse(document.getElementById("season-data").textContent);
  var signs = season.signs;
  var targets = {};
  /* Cards stay clear of the switches in the upper corners. */
  var CARD = { minWidth: 240, maxWidth: 290, maxHeight: 330, autoPanPaddingTopLeft: [5, 75] };
  var unpack = seasonRecords.unpack;

  function element(tag, text, className) {
    var made = document.createElement(tag);
    if (text) { made.textContent = text; }
    if (className) { made.className = className; }
    return made;
  }

  function factsOf(columns, row) {
    return columns
      .filter(function (column) { return column.codes[row] >= 0; })
      .map(function (column) { return [column.label, column.texts[column.codes[row]]]; });
  }

  function card(title, facts) {
    var made = element("div", "", "card");
    var list = element("dl");
    made.appendChild(element("h4", title));
    facts.forEach(function (fact) {
      list.appendChild(element("dt", fact[0]));
      list.appendChild(element("dd", fact[1]));
    });
    made.appendChild(list);
    return made;
  }

  function openCard(content, place) {
    L.popup(CARD).setLatLng(place).setContent(content).openOn(map);
  }

  function say(text) { document.getElementById("said").textContent = text; }

  var records = new seasonRecords.RecordLayer(season.crossings, signs);

  function showRecord(rows, turn) {
    var row = rows[turn];
    var title = rows.length > 1 ? "Crossing " + (turn + 1) + " of " + rows.length + " here" : "Crossing";
    var made = card(title, factsOf(season.crossings.columns, row));
    if (rows.length > 1) {
      var next = element("button", "Next");
      next.type = "button";
      next.addEventListener("click", function () { showRecord(rows, (turn + 1) % rows.length); });
      made.appendChild(next);
    }
    openCard(made, records.place(row));
  }

  /* Records lie on top of lines: a click asks them first. */
  function clicked(event, otherwise) {
    L.DomEvent.stop(event);
    var rows = records.within(event.containerPoint, 11);
    if (rows.length) { showRecord(rows, 0); } else if (otherwise) { openCard(otherwise(), event.latlng); }
  }

  function addPane(name, zIndex) { map.createPane(name).style.zIndex = zIndex; }

  function badge(text, className, size, anchor) {
    return L.divIcon({ html: element("span", text), className: "badge " + className, iconSize: size, iconAnchor: anchor });
  }

  function shapeLayer(shapes, i, style) {
    var rings = shapes.rings[i].map(unpack);
    return shapes.kind[i] === 2 ? L.polygon(rings, style) : L.polyline(rings, style);
  }

  function drawLand(key, style) {
    season[key].rings.forEach(function (_, i) {
      var name = season[key].names[season[key].row[i]];
      var drawn = shapeLayer(season[key], i, style(season[key].kind[i]));
      drawn.on("click", function (event) { clicked(event, function () { return card(name, []); }); });
      groups[key].addLayer(drawn);
    });
  }

  function drawHotspots() {
    var spots = season.hotspots, first = {}, middles = unpack(season.hotspots.middle);
    spots.rings.forEach(function (_, i) {
      var row = spots.row[i], sign = signs.hotspots[spots.strength[row] < 0 ? 5 : spots.strength[row]];
      function content() { return card(spots.names[row], factsOf(spots.columns, row)); }
      [[signs.ink, sign.width + 3], [sign.colour, sign.width]].forEach(function (stroke) {
        var line = shapeLayer(spots, i, { pane: "hotspots", color: stroke[0], weight: stroke[1], opacity: 1, lineCap: "round" });
        line.on("click", function (event) { clicked(event, content); });
        groups.hotspots.addLayer(line);
        if (!first[row]) { first[row] = line; }
      });
    });
    Object.keys(first).forEach(function (row) {
      var line = first[row];
      var spot = L.marker(middles[row], {
        icon: badge(spots.rank[row], "", [26, 26], [13, 36]), title: spots.names[row], alt: spots.names[row], pane: "numbers"
      });
      spot.bindPopup(function () { return card(spots.names[row], factsOf(spots.columns, row)); }, { ...CARD, offset: [0, -30] });
      groups.hotspots.addLayer(spot);
      targets["hotspots-" + row] = { group: groups.hotspots, bounds: line.getBounds(), marker: spot, name: spots.names[row] };
    });
  }

  function eggPicture(sign) {
    var space = "http://www.w3.org/2000/svg";
    var picture = document.createElementNS(space, "svg"), egg = document.createElementNS(space, "ellipse");
    picture.setAttribute("viewBox", "0 0 24 28");
    Object.entries({ cx: 12, cy: 14, rx: 8, ry: 11, fill: sign.colour, stroke: signs.ink, "stroke-width": 2 })
      .forEach(function (entry) { egg.setAttribute(entry[0], entry[1]); });
    if (sign.shape === "dashed egg") { egg.setAttribute("stroke-dasharray", "5 4"); }
    picture.appendChild(egg);
    return picture;
  }

  function drawNests() {
    if (!groups.nests) { return; }
    unpack(season.nests.at).forEach(function (place, row) {
      var name = "Nest " + season.nests.names[row];
      var icon = L.divIcon({ html: eggPicture(signs.nests[season.nests.sign[row]]), className: "nest", iconSize: [24, 28] });
      var nest = L.marker(place, { icon: icon, title: name, alt: name, pane: "numbers" });
      nest.bindPopup(function () { return card(name, factsOf(season.nests.columns, row)); }, CARD);
      groups.nests.addLayer(nest);
      targets["nests-" + row] = { group: groups.nests, bounds: nest.getLatLng().toBounds(400), marker: nest, name: name };
    });
  }

  function drawCells() {
    if (!groups.cells) { return; }
    season.cells.bounds.forEach(function (edges, i) {
      var bounds = L.latLngBounds([edges[1], edges[0]], [edges[3], edges[2]]);
      var name = season.cells.records[i] + " " + season.cells.what[i] + " in this square of 10 km";
      var facts = season.cells.months[i] ? [["Hatch windows", season.cells.months[i]]] : [];
      var share = season.cells.what[i] === "nests" ? 0.86 : 0.14;
      var spot = L.latLng(edges[1] + (edges[3] - edges[1]) * share, (edges[0] + edges[2]) / 2);
      groups.cells.addLayer(L.rectangle(bounds, {
        pane: "cells", color: signs.cell, weight: 2, dashArray: "6 5", fillOpacity: 0.06, interactive: false
      }));
      var mark = L.marker(spot, {
        icon: badge(season.cells.records[i] + " " + season.cells.what[i], "square", [96, 26], [48, 13]), title: name, alt: name, pane: "numbers"
      });
      mark.bindPopup(function () { return card(name, facts); }, CARD);
      groups.cells.addLayer(mark);
      targets["cells-" + i] = { group: groups.cells, bounds: bounds, marker: mark, name: name };
    });
  }

  function drawMeasures() {
    var built = season.measures;
    built.rings.forEach(function (rings, i) {
      var row = built.row[i], sign = signs.measures[built.sign[row]];
      function content() { return card(built.names[row], factsOf(built.columns, row)); }
      if (built.kind[i] === 0) {
        var picture = seasonRecords.stamp(sign, signs.ink, 1, 6);
        var icon = L.divIcon({ html: picture, className: "built", iconSize: [18, 18] });
        groups.measures.addLayer(L.marker(unpack(rings[0])[0], { icon: icon, title: "Measure built", alt: "Measure built" })
          .bindPopup(content, CARD));
        return;
      }
      var drawn = shapeLayer(built, i, { pane: "measures", color: sign.colour, weight: 4, dashArray: "9 5", fillOpacity: 0.1 });
      drawn.on("click", function (event) { clicked(event, content); });
      groups.measures.addLayer(drawn);
    });
  }

  function show(target) {
    if (!map.hasLayer(target.group)) { map.addLayer(target.group); }
    map.getContainer().scrollIntoView({ block: "center" });
    map.fitBounds(target.bounds.pad(0.8), { maxZoom: 16, animate: false });
    target.marker.openPopup();
    map.getContainer().focus({ preventScroll: true });
    say("The map shows " + target.name + ".");
  }

  addPane("protected", 310);
  addPane("water", 320);
  addPane("roads", 330);
  addPane("measures", 410);
  addPane("hotspots", 420);
  addPane("records", 430);
  addPane("cells", 440);
  addPane("numbers", 610);
  drawLand("protected", function () { return { pane: "protected", color: "#8fa36a", weight: 1, fillColor: "#d3dfbf", fillOpacity: 0.8 }; });
  drawLand("water", function (kind) {
    return { pane: "water", color: "#6f9aa6", weight: kind === 2 ? 1 : 2, fillColor: "#b9d5dc", fillOpacity: 0.9 };
  });
  drawLand("roads", function () { return { pane: "roads", color: "#8a8272", weight: 2.5 }; });
  drawMeasures();
  drawHotspots();
  groups.crossings.addLayer(records);
  drawCells();
  drawNests();

  map.attributionControl.setPrefix("Leaflet");
  map.getContainer().setAttribute("role", "application");
  map.getContainer().setAttribute("aria-label", "Map: arrow keys move it, plus and minus change its scale");
  map.on("click", function (event) { clicked(event, null); });
  map.fitBounds([[season.bounds[1], season.bounds[0]], [season.bounds[3], season.bounds[2]]], { animate: false });
  /* The wheel scrolls the page until the map has been chosen. */
  map.scrollWheelZoom.disable();
  map.on("focus", function () { map.scrollWheelZoom.enable(); });
  map.on("blur", function () { map.scrollWheelZoom.disable(); });
  document.addEventListener("click", function (event) {
    var button = event.target.closest("[data-show]");
    if (button && targets[button.dataset.show]) { show(targets[button.dataset.show]); }
  });
}

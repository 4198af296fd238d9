"use strict";

/* Draws the page's data block into the layer groups of the map, and lets the controls drive it. */
function drawSeason(map, groups) {
  var season = seasonData.read(), cards = seasonCards;
  var page = { map: map, groups: groups, season: season, signs: season.signs, targets: {} };
  page.records = new seasonRecords.RecordLayer(season.crossings, season.signs);

  function showRecord(rows, turn) {
    var row = rows[turn];
    var title = rows.length > 1 ? "Crossing " + (turn + 1) + " of " + rows.length + " here" : "Crossing";
    var made = cards.card(title, seasonData.factsOf(season.crossings.columns, row));
    if (rows.length > 1) {
      made.appendChild(cards.button("Next", function () { showRecord(rows, (turn + 1) % rows.length); }));
    }
    cards.openCard(map, made, page.records.place(row));
  }

  /* Records lie on top of lines: a click asks them first. */
  page.clicked = function (event, otherwise) {
    L.DomEvent.stop(event);
    var rows = page.records.within(event.containerPoint, 11);
    if (rows.length) { showRecord(rows, 0); } else if (otherwise) { otherwise(); }
  };

  function drawLand(key, style) {
    season[key].rings.forEach(function (_, i) {
      var name = season[key].names[season[key].row[i]];
      var drawn = cards.shapeLayer(season[key], i, style(season[key].kind[i]));
      drawn.on("click", function (event) {
        page.clicked(event, function () { cards.openCard(map, cards.card(name, []), event.latlng); });
      });
      groups[key].addLayer(drawn);
    });
  }

  /* The host's own pictures below everything else. The map library takes the credit for HTML, so it is escaped. */
  function addTiles(tiles) {
    var credit = tiles.credit.replace(/[&<>"'`]/g, function (sign) { return "&#" + sign.charCodeAt(0) + ";"; });
    L.tileLayer(tiles.template, { maxZoom: 19, attribution: credit }).addTo(map);
  }

  function switchOf(key) { return document.querySelector('[data-layer="' + key + '"]'); }

  page.markLayers = function (grey, chosen) {
    [["hotspots", grey], ["cells", chosen]].forEach(function (layer) {
      if (!groups[layer[0]]) { return; }
      var words = switchOf(layer[0]).parentNode.querySelector("span");
      words.textContent = words.textContent.replace(/ \(all records\)$/, "") + (layer[1] ? " (all records)" : "");
    });
  };

  function setLayer(key, on) {
    switchOf(key).checked = on;
    if (on) { map.addLayer(groups[key]); } else { map.removeLayer(groups[key]); }
  }

  function targetOf(key) {
    if (key.indexOf("crossings-") !== 0) { return page.targets[key]; }
    var row = Number(key.slice("crossings-".length));
    return {
      key: "crossings", bounds: L.latLng(page.records.place(row)).toBounds(400), name: "the crossing",
      open: function () { showRecord([row], 0); }
    };
  }

  function show(target, button) {
    setLayer(target.key, true);
    map.getContainer().scrollIntoView({ block: "center" });
    map.fitBounds(target.bounds.pad(0.8), {
      maxZoom: 16, animate: false, paddingBottomRight: [window.innerWidth >= 700 ? target.beside || 0 : 0, 0]
    });
    map.getContainer().focus({ preventScroll: true });
    target.open(button);
    cards.say("The map shows " + target.name + ".");
  }

  [["protected", 310], ["water", 320], ["roads", 330], ["measures", 410], ["hotspots", 420], ["saved", 425], ["records", 430],
    ["cells", 440], ["numbers", 610]].forEach(function (pane) { map.createPane(pane[0]).style.zIndex = pane[1]; });
  if (season.tiles) { addTiles(season.tiles); }
  drawLand("protected", function () { return { pane: "protected", color: "#8fa36a", weight: 1, fillColor: "#d3dfbf", fillOpacity: season.tiles ? 0.35 : 0.8 }; });
  drawLand("water", function (kind) {
    return { pane: "water", color: "#6f9aa6", weight: kind === 2 ? 1 : 2, fillColor: "#b9d5dc", fillOpacity: season.tiles ? 0.4 : 0.9 };
  });
  drawLand("roads", function () { return { pane: "roads", color: "#8a8272", weight: 2.5 }; });
  page.measures = seasonPoints.drawMeasures(page);
  page.showHotspots = drawHotspots(page);
  groups.crossings.addLayer(page.records);
  seasonPoints.drawCells(page);
  page.nests = seasonPoints.drawNests(page);
  drawSaved(page);

  map.attributionControl.setPrefix("Leaflet");
  map.getContainer().setAttribute("role", "application");
  map.getContainer().setAttribute("aria-label", "Map: arrow keys move it, plus and minus change its scale");
  map.on("click", function (event) { page.clicked(event, null); });
  map.fitBounds([[season.bounds[1], season.bounds[0]], [season.bounds[3], season.bounds[2]]], { animate: false });
  /* The wheel scrolls the page until the map has been chosen. */
  map.scrollWheelZoom.disable();
  map.on("focus", function () { map.scrollWheelZoom.enable(); });
  map.on("blur", function () { map.scrollWheelZoom.disable(); });
  document.querySelectorAll("[data-layer]").forEach(function (box) {
    box.addEventListener("change", function () { setLayer(box.dataset.layer, box.checked); });
  });
  document.addEventListener("click", function (event) {
    var button = event.target.closest("[data-show]"), target = button && targetOf(button.dataset.show);
    if (target) { show(target, button); }
  });
  driveFilters(page);
}

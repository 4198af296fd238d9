"use strict";

/* Draws the hotspots of one answer; those that do not answer the reader's choice are grey and say so. */
function drawHotspots(page) {
  var cards = seasonCards, signs = page.signs;
  var PANEL_PX = 425;
  var ALL = " (all records)", ALL_WORDS = "Of all records: none was computed beforehand for what you chose.";

  function strokes(answer, row, grey) {
    var sign = signs.hotspots[answer.strength[row] < 0 ? 5 : answer.strength[row]];
    if (!grey) { return [{ color: signs.ink, weight: sign.width + 3 }, { color: sign.colour, weight: sign.width }]; }
    return [{ color: "#ffffff", weight: signs.all.width + 3 }, { color: signs.all.colour, weight: signs.all.width, dashArray: "6 7" }];
  }

  /* What was counted, where it is not everything. */
  function ownWords(answer) {
    var words = [answer.year, answer.taxon].filter(Boolean).join(", ");
    return words ? "Found from the records of " + words + " alone." : "";
  }

  function open(answer, row, grey, from) {
    seasonPanel.open({
      title: answer.names[row] + (grey ? ALL : ""),
      remark: grey ? ALL_WORDS : ownWords(answer),
      facts: seasonData.factsOf(answer.columns, row),
      curve: answer.curves[row] || null
    }, from);
    keepClear(seasonData.unpack(answer.middle)[row]);
  }

  /* The panel lies over the right of the map on a wide page: what it tells of stays beside it. */
  function keepClear(place) {
    var wide = window.innerWidth >= 700;
    page.map.panInside(place, { paddingTopLeft: [30, 60], paddingBottomRight: [wide ? PANEL_PX : 30, 30], animate: false });
  }

  function addBadge(answer, row, grey, place) {
    var name = answer.names[row] + (grey ? ALL : "");
    var icon = cards.badge(answer.rank[row], grey ? "grey" : "", [26, 26], [13, 36]);
    var spot = L.marker(place, { icon: icon, title: name, alt: name, pane: "numbers" });
    spot.on("click", function () { open(answer, row, grey, spot.getElement()); });
    spot.on("keypress", function (event) {
      if (event.originalEvent.key === "Enter" || event.originalEvent.key === " ") {
        L.DomEvent.stop(event);
        open(answer, row, grey, spot.getElement());
      }
    });
    page.groups.hotspots.addLayer(spot);
  }

  function draw(answer, grey) {
    var middles = seasonData.unpack(answer.middle), bounds = {};
    answer.rings.forEach(function (_, i) {
      var row = answer.row[i];
      strokes(answer, row, grey).forEach(function (stroke) {
        var line = cards.shapeLayer(answer, i, { pane: "hotspots", opacity: 1, lineCap: grey ? "butt" : "round", ...stroke });
        line.on("click", function (event) { page.clicked(event, function () { open(answer, row, grey, page.map.getContainer()); }); });
        page.groups.hotspots.addLayer(line);
        bounds[row] = bounds[row] ? bounds[row].extend(line.getBounds()) : line.getBounds();
      });
    });
    Object.keys(bounds).forEach(function (row) {
      addBadge(answer, row, grey, middles[row]);
      page.targets["hotspots-" + row] = {
        key: "hotspots", beside: PANEL_PX, bounds: bounds[row], name: answer.names[row] + (grey ? ALL : ""),
        open: function (from) { open(answer, row, grey, from); }
      };
    });
  }

  /* Show one answer instead of the one before. */
  return function (answer, grey) {
    Object.keys(page.targets).forEach(function (key) {
      if (key.indexOf("hotspots-") === 0) { delete page.targets[key]; }
    });
    seasonPanel.close();
    page.groups.hotspots.clearLayers();
    draw(answer, grey);
  };
}

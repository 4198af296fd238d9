"use strict";

/* Nests, squares and measures: few enough to be elements of their own. */
var seasonPoints = (function () {
  var cards = seasonCards;

  function eggPicture(sign, ink) {
    var picture = cards.drawing("svg", { viewBox: "0 0 24 28" });
    var dashed = sign.shape === "dashed egg" ? { "stroke-dasharray": "5 4" } : {};
    picture.appendChild(cards.drawing("ellipse", { cx: 12, cy: 14, rx: 8, ry: 11, fill: sign.colour, stroke: ink, "stroke-width": 2, ...dashed }));
    return picture;
  }

  /* Each row's layers, to be taken off the map and put back by the filters. */
  function drawNests(page) {
    var set = page.season.nests, drawn = [];
    for (var i = 0; i < set.n && page.groups.nests; i += 1) { drawn.push([drawNest(page, set, i)]); }
    return drawn;
  }

  function drawNest(page, set, row) {
    var name = "Nest " + set.names[row];
    var icon = L.divIcon({ html: eggPicture(page.signs.nests[set.sign[row]], page.signs.ink), className: "nest", iconSize: [24, 28] });
    var nest = L.marker([set.places.lat[row], set.places.lon[row]], { icon: icon, title: name, alt: name, pane: "numbers" });
    nest.bindPopup(function () { return cards.card(name, seasonData.factsOf(set.columns, row)); }, cards.CARD);
    page.groups.nests.addLayer(nest);
    page.targets["nests-" + row] = {
      key: "nests", bounds: nest.getLatLng().toBounds(400), name: name, open: function () { nest.openPopup(); }
    };
    return nest;
  }

  function drawCells(page) {
    if (!page.groups.cells) { return; }
    page.season.cells.bounds.forEach(function (edges, i) { drawCell(page, page.season.cells, edges, i); });
  }

  function drawCell(page, cells, edges, i) {
    var bounds = L.latLngBounds([edges[1], edges[0]], [edges[3], edges[2]]);
    var text = cells.records[i] + " " + cells.what[i], name = text + " in this square of 10 km";
    var facts = cells.months[i] ? [["Hatch windows", cells.months[i]]] : [];
    var share = cells.what[i] === "nests" ? 0.86 : 0.14;
    var spot = L.latLng(edges[1] + (edges[3] - edges[1]) * share, (edges[0] + edges[2]) / 2);
    page.groups.cells.addLayer(L.rectangle(bounds, {
      pane: "cells", color: page.signs.cell, weight: 2, dashArray: "6 5", fillOpacity: 0.06, interactive: false
    }));
    var mark = L.marker(spot, { icon: cards.badge(text, "square", [96, 26], [48, 13]), title: name, alt: name, pane: "numbers" });
    mark.bindPopup(function () { return cards.card(name, facts); }, cards.CARD);
    page.groups.cells.addLayer(mark);
    page.targets["cells-" + i] = { key: "cells", bounds: bounds, name: name, open: function () { mark.openPopup(); } };
  }

  function drawMeasures(page) {
    var built = page.season.measures, drawn = built.names.map(function () { return []; });
    built.rings.forEach(function (_, i) {
      var row = built.row[i], piece = drawMeasure(page, built, i, row);
      drawn[row].push(piece);
      page.groups.measures.addLayer(piece);
    });
    return drawn;
  }

  function drawMeasure(page, built, i, row) {
    var sign = page.signs.measures[built.sign[row]], name = built.names[row] + " " + (row + 1);
    function content() { return cards.card(name, seasonData.factsOf(built.columns, row)); }
    var point = built.kind[i] === 0, piece = point ? mark() : line();
    var bounds = point ? piece.getLatLng().toBounds(400) : piece.getBounds();
    page.targets["measures-" + row] = {
      key: "measures", bounds: bounds, name: name,
      open: function () { cards.openCard(page.map, content(), bounds.getCenter()); }
    };
    return piece;

    function mark() {
      var picture = seasonRecords.stamp(sign, page.signs.ink, 1, 6);
      var icon = L.divIcon({ html: picture, className: "built", iconSize: [18, 18] });
      return L.marker(seasonData.unpack(built.rings[i][0])[0], { icon: icon, title: name, alt: name }).bindPopup(content, cards.CARD);
    }

    function line() {
      var shape = cards.shapeLayer(built, i, { pane: "measures", color: sign.colour, weight: 4, dashArray: "9 5", fillOpacity: 0.1 });
      shape.on("click", function (event) {
        page.clicked(event, function () { cards.openCard(page.map, content(), event.latlng); });
      });
      return shape;
    }
  }

  return { drawNests: drawNests, drawCells: drawCells, drawMeasures: drawMeasures };
}());
